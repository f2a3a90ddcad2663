// The virtual engine on the page: engine files that are made, looked at and changed; curves and waves that are asked
// for. The page shows what was asked by asking for itself again.

import { get, post, put, route, said } from "./api.js";
import { mark } from "./fields.js";
import { refresh } from "./fragments.js";

/**
 * @typedef {HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement} Field
 * @typedef {import("./api.js").Answer} Answer
 */

/** Revision of each text that was fetched, by the id of its engine file. */
const revisions = new Map();

/** @param {HTMLFormElement} form */
const fieldsOf = (form) => /** @type {Field[]} */ ([...form.querySelectorAll("input, textarea, select")]);

/**
 * @param {HTMLFormElement} form
 * @param {string} name
 */
const valueOf = (form, name) => fieldsOf(form).find((field) => field.name === name)?.value.trim() ?? "";

/** @param {string} id */
const engine = (id) => route(`/engine/${encodeURIComponent(id)}`);

/** Units of the reader, as the routes take them. */
const units = () => `?units=${document.documentElement.dataset.system === "us" ? "us" : "metric"}`;

/**
 * @param {string} what
 * @param {string} where
 * @param {string} remedy
 * @returns {Answer}
 */
const wrong = (what, where, remedy) => ({ ok: false, status: 422, mistake: { what, where, value: "", remedy } });

/**
 * What was typed has been taken: the part may be drawn anew.
 * @param {HTMLFormElement} form
 */
const taken = (form) => {
  for (const field of fieldsOf(form)) if (!(field instanceof HTMLSelectElement)) field.defaultValue = field.value;
};

/** Engines that were ticked and not run yet, by the id of the engine file: another version of the part keeps them. */
const ticks = new Map();

/** @param {Event} event */
const ticked = (event) => {
  const box = event.target;
  if (box instanceof HTMLInputElement && box.name === "engine" && box.closest("[data-engine-run]")) ticks.set(box.value, box.checked);
};

/** @param {HTMLElement} part */
const tickAgain = (part) => {
  /** @type {NodeListOf<HTMLInputElement>} */
  const boxes = part.querySelectorAll("[data-engine-run] [name=engine]");
  for (const box of boxes) box.checked = ticks.get(box.value) ?? box.checked;
};

/** @param {HTMLFormElement} form */
const make = (form) => post(route("/engine"), { like: valueOf(form, "like"), build: valueOf(form, "build") });

/** @param {HTMLFormElement} form */
const run = async (form) => {
  /** @type {NodeListOf<HTMLInputElement>} */
  const chosen = form.querySelectorAll("[name=engine]:checked");
  if (!chosen.length) return wrong("no engine is chosen", "engine", "tick at least one");
  const fine = /** @type {HTMLInputElement} */ (form.querySelector("[name=fine]")).checked;
  const rpm = ["from", "to", "step"].map((name) => valueOf(form, name)).join(":");
  const answer = await post(route("/engine-runs"), { engines: [...chosen].map((box) => box.value), rpm, fine });
  if (answer.ok) ticks.clear();
  return answer;
};

/** @param {HTMLFormElement} form */
const waves = async (form) => {
  const speed = Number(valueOf(form, "at_rpm"));
  if (!Number.isFinite(speed)) return wrong("this is no engine speed", "at_rpm", "write for example 5000");
  return post(`${engine(valueOf(form, "engine"))}/waves${units()}`, { at_rpm: speed });
};

/** @param {HTMLFormElement} form */
const save = async (form) => {
  const id = form.dataset.engineSave ?? "";
  const text = /** @type {HTMLTextAreaElement} */ (form.querySelector("textarea:not([data-theirs])"));
  const answer = await put(engine(id), { text: text.value, revision: revisions.get(id) ?? "" });
  if (answer.ok) {
    revisions.set(id, answer.body.revision);
    form.querySelector(".theirs")?.remove();
    void post(`${engine(id)}/check${units()}`, {});
  } else if (answer.status === 409) await bothTexts(form, id, answer.mistake);
  return answer;
};

/**
 * What the file holds now, beside what was typed; saving again then replaces it.
 * @param {HTMLFormElement} form
 * @param {string} id
 * @param {import("./api.js").Mistake} mistake
 */
const bothTexts = async (form, id, mistake) => {
  form.querySelector(".theirs")?.remove();
  const box = document.createElement("div"), label = document.createElement("label");
  const theirs = document.createElement("textarea");
  box.className = "theirs field wide";
  Object.assign(theirs, { readOnly: true, rows: 24, id: `engine-theirs-${id}`, value: mistake.theirs ?? "" });
  theirs.defaultValue = theirs.value;
  theirs.dataset.theirs = "";
  label.htmlFor = theirs.id;
  label.textContent = "What the file holds now; take over from it what you need, then save again";
  box.append(label, theirs);
  form.querySelector(".answer")?.before(box);
  const now = await get(engine(id));
  if (now.ok) revisions.set(id, now.body.revision);
};

/** @type {[string, (form: HTMLFormElement) => Promise<Answer>][]} */
const WAYS = [["engineMake", make], ["engineRun", run], ["engineWaves", waves], ["engineSave", save]];

/**
 * @param {HTMLFormElement} form
 * @param {import("./api.js").Mistake} mistake
 */
const blame = (form, mistake) => {
  const key = mistake.where.split(/[.:\s]/).at(-1) ?? "";
  const name = { rpm: "from", engines: "engine" }[key] ?? key;
  const field = fieldsOf(form).find((one) => one.name === name) ?? form.querySelector("textarea") ?? fieldsOf(form).at(-1);
  if (!field) return;
  // A text has many places: the sentence has to name the one that is meant.
  const named = field instanceof HTMLTextAreaElement && mistake.where;
  mark(field, named ? { ...mistake, what: `${mistake.what} (${mistake.where})` } : mistake);
  field.focus();
};

/** @param {SubmitEvent} event */
const submitted = async (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  const way = WAYS.find(([name]) => form.dataset[name] !== undefined)?.[1];
  if (!way) return;
  event.preventDefault();
  fieldsOf(form).forEach((field) => mark(field, null));
  form.setAttribute("aria-busy", "true");
  const answer = await way(form);
  form.removeAttribute("aria-busy");
  if (!answer.ok) { blame(form, answer.mistake); return; }
  taken(form);
  await refresh();
};

/** @param {HTMLElement} element */
const tell = (element, /** @type {Answer} */ answer) => {
  const news = document.getElementById("news");
  if (!answer.ok && news && element.isConnected) news.textContent = said(answer.mistake);
};

/**
 * Fill in the text of an engine file that was opened, unless somebody changes it.
 * @param {HTMLElement} details
 */
const fillText = async (details) => {
  const id = details.dataset.engineText ?? "";
  const text = details.querySelector("textarea");
  if (!text || text.value !== text.defaultValue) return;
  const answer = await get(engine(id));
  if (!answer.ok) { tell(details, answer); return; }
  if (text.value !== text.defaultValue) return;
  text.defaultValue = answer.body.text;
  text.value = answer.body.text;
  text.readOnly = false;
  revisions.set(id, answer.body.revision);
};

/** @param {string} id */
const look = async (id) => {
  const answer = await post(`${engine(id)}/check${units()}`, {});
  const card = document.getElementById(`engine-${id}`);
  if (!answer.ok && card) tell(card, answer);
  await refresh();
};

/** @param {Event} event */
const toggled = (event) => {
  const details = /** @type {HTMLElement} */ (event.target);
  if (!(details instanceof HTMLDetailsElement) || !details.open) return;
  const { engineCard, engineText, known } = details.dataset;
  if (engineText) void fillText(details);
  // Opening a card is looking at it; one that was refused or stopped waits for its button.
  else if (engineCard && known === undefined && details.querySelector("[data-engine-look]")) void look(engineCard);
};

/** Start what belongs to the virtual engine; parts that are put in later need no more. */
export const startEngine = () => {
  document.addEventListener("submit", (event) => { void submitted(event); });
  document.addEventListener("toggle", toggled, true);
  document.addEventListener("change", ticked);
  document.addEventListener("pullbook:changed", (event) => {
    const part = /** @type {HTMLElement} */ (event.target);
    if (part.dataset.part === "engine") tickAgain(part);
  });
  document.addEventListener("click", (event) => {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("[data-engine-look]"));
    if (button?.dataset.engineLook) void look(button.dataset.engineLook);
  });
};
