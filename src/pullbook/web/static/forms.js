// Forms and buttons of the working page: what is added to session.toml, taken out, moved, left out; new sessions; the
// report. Each answers beside itself.

import { get, post, revision, route } from "./api.js";
import { goTo, refresh } from "./fragments.js";
import { heirOf } from "./carry.js";
import { mark, meant, sendEdits } from "./fields.js";
import { claimOf } from "./claims.js";
import { whole } from "./text.js";
import { announce } from "./told.js";
import { giveWanted } from "./upload.js";

/**
 * @typedef {HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement} Field
 */

/** @param {HTMLFormElement} form */
const fieldsOf = (form) => /** @type {Field[]} */ ([...form.querySelectorAll("input, textarea, select")]);

/**
 * First field that has to be filled and is not.
 * @param {HTMLFormElement} form
 */
const missing = (form) => fieldsOf(form).find((field) => field.required && !field.value.trim() && field.type !== "radio");

/**
 * Say that a form was wrong: at the field that the mistake names, else at what has to be chosen or at its last field.
 * @param {HTMLFormElement} form
 * @param {import("./api.js").Mistake} mistake
 */
const blame = (form, mistake) => {
  const key = mistake.where.split(/[.:\s]/).at(-1) ?? "";
  const last = ["at_least", "at_most", "within"].includes(key) ? "number" : key;
  const fields = fieldsOf(form).filter((field) => field.type !== "hidden");
  const named = fields.find((field) => last && (field.name === last || field.name.endsWith(`.${last}`)));
  const field = named ?? form.querySelector("textarea:not([readonly])") ?? fields.find((one) => one.type === "radio" || one instanceof HTMLSelectElement && one.name === "other-column") ?? fields.filter((one) => one.type !== "checkbox").at(-1);
  mark(field ?? form.querySelector("button") ?? form, mistake);
  /** @type {HTMLElement | null} */ (field ?? form.querySelector("button"))?.focus();
};

/**
 * Value of a new table of the file, out of a form.
 * @param {HTMLFormElement} form
 * @returns {Record<string, any>}
 */
const entryOf = (form) => {
  /** @type {Record<string, any>} */
  const entry = {};
  for (const field of fieldsOf(form)) {
    const value = meant(field.value, field.dataset.kind ?? "text");
    if (!field.name || value === null) continue;
    const [first = "", second] = field.name.split(".");
    if (second === undefined) entry[first] = value;
    else entry[first] = { ...entry[first], [second]: value };
  }
  return entry;
};

/** @param {HTMLFormElement} form */
const add = async (form) => {
  const value = form.dataset.claim === undefined ? entryOf(form) : claimOf(form);
  if (form.dataset.add === "build") {
    // The first build is the baseline; the file says whether it is the first, not this page.
    const now = await get(route(""));
    if (now.ok && !(now.body.values.build ?? []).length) value.baseline = true;
  }
  return sendEdits([{ do: "add", at: form.dataset.add ?? "", value }], form);
};

/** @param {HTMLFormElement} form */
const set = (form) => sendEdits([{ do: "set", at: form.dataset.set ?? "", value: fieldsOf(form)[0]?.value.trim() ?? "" }], form);

/**
 * What was chosen in a question about columns; null where nothing was.
 * @param {HTMLFormElement} form
 * @returns {{ columns?: Record<string, { column: string, unit: string }>, received?: string } | null}
 */
const chosenIn = (form) => {
  const other = /** @type {HTMLSelectElement | null} */ (form.querySelector("[name=other-column]"));
  const unit = /** @type {HTMLSelectElement | null} */ (form.querySelector("[name=other-unit]"));
  const channel = /** @type {HTMLSelectElement | null} */ (form.querySelector("[name=other-channel]"))?.value ?? form.dataset.channel ?? "";
  if (other?.value) return { columns: { [channel]: { column: other.value, unit: unit?.value ?? "" } } };
  const box = /** @type {HTMLInputElement | null} */ (form.querySelector("input[type=radio]:checked"));
  return box ? JSON.parse(box.dataset.rule ?? "{}") : null;
};

/**
 * @param {HTMLFormElement} form
 * @returns {Promise<import("./api.js").Answer>}
 */
const settle = async (form) => {
  const chosen = chosenIn(form);
  if (!chosen) return { ok: false, status: 422, mistake: { what: "nothing is chosen yet", where: "", value: "", remedy: "choose one of the answers" } };
  const box = /** @type {HTMLInputElement | null} */ (form.querySelector("[name=remember]"));
  const remember = box?.type === "hidden" || (box?.checked ?? false);
  const answer = await post(route("/settle"), { file: form.dataset.settle, columns: chosen.columns ?? {}, received: chosen.received ?? "", remember });
  if (answer.ok) await giveWanted();
  return answer;
};

/** @param {HTMLFormElement} form */
const assign = (form) =>
  post(route("/assign"), { file: form.dataset.assign, which: Number(form.dataset.which), build: fieldsOf(form)[0]?.value });

/**
 * Weather for every pull that has none.
 * @param {HTMLFormElement} form
 * @returns {Promise<import("./api.js").Answer>}
 */
const weather = async (form) => {
  const words = fieldsOf(form).filter((field) => field.value.trim());
  /** @type {NodeListOf<HTMLElement>} */
  const lines = document.querySelectorAll("[data-entry][data-no-air]");
  const edits = [...lines].flatMap((line) =>
    words.map((field) => ({ do: "set", at: `${line.dataset.entry}.air.${field.name}`, value: field.value.trim() })));
  if (edits.length) return sendEdits(edits, form);
  return { ok: false, status: 422, mistake: { what: "nothing is filled in yet", where: "pressure", value: "", remedy: "write at least one of them" } };
};

/** What the page asks; its units may be those of the reader's last choice, which its address does not name. */
const question = () => {
  const query = new URLSearchParams(location.search);
  query.set("units", document.documentElement.dataset.system ?? "metric");
  query.delete("window"); // a report holds every window
  return `?${query}`;
};

/** @param {HTMLFormElement} form */
const draw = (form) => {
  const full = /** @type {HTMLInputElement | null} */ (form.querySelector("[name=full]"))?.checked ?? false;
  return post(`${route("/report")}${question()}`, { quick: !full });
};

/** Publish what was drawn up; the notebook refuses what is not of the session as it stands. */
const publish = async () => {
  const answer = await post(`${route("/publish")}${question()}`, {});
  if (answer.ok) announce("The report is published: it is in the folder report of the session.");
  return answer;
};

/**
 * What is looked for stands in the address, once it is known that it can be.
 * @param {HTMLFormElement} form
 */
const find = async (form) => {
  const words = fieldsOf(form)[0]?.value.trim() ?? "", query = new URLSearchParams(location.search);
  if (words) query.set("find", words);
  else query.delete("find");
  const answer = await get(`/api/archive?${new URLSearchParams({ find: words })}`);
  if (answer.ok) await goTo(`?${query}`);
  return answer;
};

/** @param {HTMLFormElement} form */
const newSession = async (form) => {
  const [title, question] = fieldsOf(form).map((field) => field.value);
  const answer = await post("/api/sessions", { title, question });
  if (answer.ok) location.assign(`/s/${answer.body.id}${location.search}`);
  return answer;
};

const demo = async () => {
  const answer = await post("/api/demo", {});
  if (answer.ok) location.assign(`/s/${answer.body.id}${location.search}`);
  return answer;
};

/** @type {[string, (form: HTMLFormElement) => Promise<import("./api.js").Answer>][]} */
const WAYS = [
  ["add", add], ["set", set], ["settle", settle], ["assign", assign], ["report", draw], ["text", whole], ["air", weather],
  ["again", (form) => post(route("/ask-again"), { file: form.dataset.again })],
  ["aside", (form) => post(route("/put-aside"), { file: form.dataset.aside })],
  ["plan", (form) => post(route("/plan"), entryOf(form))],
  ["take", (form) => post(route("/take-order"), { ...entryOf(form), revision: revision(form) })],
  ["look", (form) => post(route("/next"), entryOf(form))],
  ["remember", () => post(route("/remember"), {})], ["find", find],
  ["publish", publish], ["newSession", newSession], ["demo", demo],
];

/** @param {SubmitEvent} event */
const submitted = async (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  const way = WAYS.find(([name]) => form.dataset[name] !== undefined)?.[1];
  if (!way) return;
  event.preventDefault();
  const empty = missing(form);
  fieldsOf(form).forEach((field) => mark(field, null));
  if (empty) {
    mark(empty, { what: "this is needed", where: empty.name, value: "", remedy: empty.getAttribute("placeholder") ? `write for example ${empty.getAttribute("placeholder")}` : "" });
    empty.focus();
    return;
  }
  if (form.getAttribute("aria-busy") === "true") return; // it is on its way
  form.setAttribute("aria-busy", "true");
  const sent = new Map(fieldsOf(form).map((field) => [field, field.value]));
  const answer = await way(form);
  form.removeAttribute("aria-busy");
  if (!answer.ok) { blame(nowOf(form), answer.mistake); return; }
  if (form.dataset.text === undefined) sent.forEach((value, field) => emptied(heirOf(field), value));
  await refresh();
  if (form.dataset.add !== undefined) next(form.dataset.add);
};

/**
 * The form that stands on the page now for one that stood there.
 * @param {HTMLFormElement} form
 */
const nowOf = (form) => {
  const heir = fieldsOf(form).map(heirOf).find((field) => field.isConnected);
  return heir?.closest("form") ?? form;
};

/**
 * What was sent is no longer something that is being typed; what was typed since is.
 * @param {Field} field
 * @param {string} sent
 */
const emptied = (field, sent) => {
  if (field instanceof HTMLSelectElement || field.value !== sent || ["checkbox", "radio", "hidden"].includes(field.type)) return;
  field.value = field.defaultValue;
};

/**
 * After something was added the next one can be written at once, unless somebody has gone on elsewhere.
 * @param {string} list
 */
const next = (list) => {
  const form = document.querySelector(`form[data-add="${CSS.escape(list)}"]`);
  const active = document.activeElement;
  const elsewhere = active && active !== document.body && !form?.contains(active);
  if (!form || elsewhere || (active instanceof HTMLInputElement && active.value)) return;
  /** @type {HTMLElement | null} */ (form.querySelector("input, select"))?.focus({ preventScroll: true });
};

/** @param {HTMLElement} button */
const removed = async (button) => {
  // A second press takes it out: nobody loses a build by a slip, and no dialog stands in the way.
  if (button.dataset.sure === undefined) {
    button.dataset.sure = "";
    button.dataset.words = button.textContent ?? "";
    button.textContent = `Take out ${button.dataset.name ?? "it"}?`;
    setTimeout(() => { delete button.dataset.sure; button.textContent = button.dataset.words ?? ""; }, 4000);
    return null;
  }
  return sendEdits([{ do: "remove", at: button.dataset.remove ?? "" }], button);
};

/** @type {Promise<void>} */
let acting = Promise.resolve();

/**
 * One press after the other: whoever presses "Later" twice means the line where the first press has put it.
 * @param {MouseEvent} event
 */
const pressed = (event) => {
  const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("button"));
  if (!button || !["move", "unset", "remove"].some((key) => button.dataset[key])) return;
  acting = acting.then(() => acted(heirOf(button)));
};

/** @param {HTMLElement} button */
const acted = async (button) => {
  const { move, to, unset, was, remove } = button.dataset;
  /** @type {import("./api.js").Answer | null} */
  let answer = null;
  if (remove) answer = await removed(button);
  else if (move) answer = await sendEdits([{ do: "move", at: move, value: Number(to) }], button);
  else if (unset) answer = await sendEdits([{ do: "unset", at: unset, was, knows_was: was !== undefined }], button);
  if (!answer) return;
  if (answer.ok) { await refresh(); return; }
  mark(button, answer.mistake);
};

/** Switches of the page: units, standard, pair, baseline; they stand in the address. */
const switched = (/** @type {Event} */ event) => {
  const field = /** @type {Field} */ (event.target);
  const form = /** @type {HTMLFormElement | null} */ (field.closest("form[data-switch]"));
  if (!form) return;
  const query = new URLSearchParams(location.search);
  if (field.value) query.set(field.name, field.value);
  else query.delete(field.name);
  if (field.name === "units") {
    document.documentElement.dataset.system = field.value;
    document.cookie = `pullbook_units=${field.value}; path=/; max-age=31536000; SameSite=Strict`;
  }
  void goTo(query.size ? `?${query}` : "");
};

/** Listen to all forms of the page, whenever they come into it. */
export const startForms = () => {
  document.addEventListener("submit", (event) => { void submitted(event); });
  document.addEventListener("click", (event) => { pressed(event); });
  document.addEventListener("change", switched);
};
