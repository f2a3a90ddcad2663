// Forms and buttons of the working page: what is added to session.toml, taken out, moved, left out; new sessions; the
// report. Each answers beside itself.

import { get, post, put, route, said } from "./api.js";
import { goTo, refresh } from "./fragments.js";
import { mark, meant, sendEdits } from "./fields.js";
import { claimOf } from "./claims.js";

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
 * Say that a form was wrong: at the field that the mistake names, else at its end.
 * @param {HTMLFormElement} form
 * @param {import("./api.js").Mistake} mistake
 */
const blame = (form, mistake) => {
  const key = mistake.where.split(/[.:\s]/).at(-1) ?? "";
  const last = ["at_least", "at_most", "within"].includes(key) ? "number" : key;
  const named = fieldsOf(form).find((field) => field.name === last || field.name.endsWith(`.${last}`));
  const field = named ?? fieldsOf(form).at(-1);
  if (field) { mark(field, mistake); field.focus(); return; }
  const news = document.getElementById("news");
  if (news) news.textContent = said(mistake);
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
  return sendEdits([{ do: "add", at: form.dataset.add ?? "", value }]);
};

/** @param {HTMLFormElement} form */
const set = (form) => sendEdits([{ do: "set", at: form.dataset.set ?? "", value: fieldsOf(form)[0]?.value.trim() ?? "" }]);

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
  return post(route("/settle"), { file: form.dataset.settle, columns: chosen.columns ?? {}, received: chosen.received ?? "", remember });
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
  if (edits.length) return sendEdits(edits);
  return { ok: false, status: 422, mistake: { what: "nothing is filled in yet", where: "pressure", value: "", remedy: "write at least one of them" } };
};

/** @param {HTMLFormElement} form */
const draw = (form) => {
  const full = /** @type {HTMLInputElement | null} */ (form.querySelector("[name=full]"))?.checked ?? false;
  return post(`${route("/report")}${location.search}`, { quick: !full });
};

/** @param {HTMLFormElement} form */
const whole = async (form) => {
  const text = /** @type {HTMLTextAreaElement} */ (form.querySelector("textarea"));
  const revision = /** @type {HTMLElement} */ (form.closest("pullbook-text")).getAttribute("revision") ?? "";
  const answer = await put(route("/text"), { text: text.value, revision });
  if (answer.ok) text.defaultValue = text.value;
  else if (answer.status === 409) await bothTexts(form, text, answer.mistake);
  return answer;
};

/**
 * Both versions of the file side by side; the one that was typed stays in its field.
 * @param {HTMLFormElement} form
 * @param {HTMLTextAreaElement} text
 * @param {import("./api.js").Mistake} mistake
 */
const bothTexts = async (form, text, mistake) => {
  form.querySelector(".theirs")?.remove();
  const now = await get(route(""));
  const box = document.createElement("div");
  box.className = "theirs field wide";
  const label = document.createElement("label");
  const theirs = document.createElement("textarea");
  theirs.readOnly = true;
  theirs.rows = text.rows;
  theirs.id = "whole-text-theirs";
  theirs.value = mistake.theirs ?? "";
  theirs.defaultValue = theirs.value;
  label.htmlFor = theirs.id;
  label.textContent = "What the file holds now; take over from it what you need, then save again";
  box.append(label, theirs);
  text.closest("form")?.querySelector(".answer")?.before(box);
  if (now.ok) /** @type {HTMLElement} */ (form.closest("pullbook-text")).setAttribute("revision", now.body.revision);
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
  ["publish", () => post(route("/publish"), {})], ["newSession", newSession], ["demo", demo],
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
  form.setAttribute("aria-busy", "true");
  const answer = await way(form);
  form.removeAttribute("aria-busy");
  if (!answer.ok) { blame(form, answer.mistake); return; }
  if (form.dataset.text === undefined) form.reset(); // what was sent is no longer something that is being typed
  await refresh();
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
  return sendEdits([{ do: "remove", at: button.dataset.remove ?? "" }]);
};

/** @param {MouseEvent} event */
const pressed = async (event) => {
  const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("button"));
  if (!button) return;
  const { move, to, unset, was, remove } = button.dataset;
  /** @type {import("./api.js").Answer | null} */
  let answer = null;
  if (remove) answer = await removed(button);
  else if (move) answer = await sendEdits([{ do: "move", at: move, value: Number(to) }]);
  else if (unset) answer = await sendEdits([{ do: "unset", at: unset, was, knows_was: was !== undefined }]);
  if (!answer) return;
  if (answer.ok) { await refresh(); return; }
  const news = document.getElementById("news");
  if (news) news.textContent = said(answer.mistake);
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
  void goTo(`?${query}`);
};

/** Listen to all forms of the page, whenever they come into it. */
export const startForms = () => {
  document.addEventListener("submit", (event) => { void submitted(event); });
  document.addEventListener("click", (event) => { void pressed(event); });
  document.addEventListener("change", switched);
};
