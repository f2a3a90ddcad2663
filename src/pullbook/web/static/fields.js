// Fields of session.toml. Each is sent when it is left; a wrong value stays in the field, is marked and explained, and
// changes nothing. Where the file holds something else by now, both versions are shown and one is chosen.

import { forField, post, revision, route, said } from "./api.js";
import { answerOf, heirOf, textOf, typedIn } from "./carry.js";
import { sentenceEdits } from "./claims.js";
import { refresh } from "./fragments.js";

/**
 * @typedef {HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement} Field
 * @typedef {{ do: string, at: string, value?: unknown, was?: unknown, knows_was?: boolean }} Edit
 */

/**
 * What a field means for the file; null for "the key is not there".
 * @param {string} text
 * @param {string} kind
 * @returns {unknown}
 */
export const meant = (text, kind) => {
  const plain = text.trim();
  if (kind === "flag") return plain === "true" ? true : null;
  if (!plain) return null;
  if (kind === "lines") return plain.split("\n").map((line) => line.trim()).filter(Boolean);
  if (kind === "list") return plain.split(/[,\n]/).map((part) => part.trim()).filter(Boolean);
  if (kind === "count") return /^\d+$/.test(plain) ? Number(plain) : plain;
  return plain;
};

/**
 * Words in the answer of a field, which the field is described by.
 * @param {Element} field
 * @param {Node[]} words
 */
const answered = (field, words) => {
  const answer = answerOf(field);
  if (!answer) {
    const news = document.getElementById("news");
    if (news) news.textContent = words.map((one) => one.textContent).join(" ");
    return;
  }
  answer.id ||= `answer-${field.id || Math.random().toString(36).slice(2)}`;
  const described = new Set([...(field.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean), answer.id]);
  field.setAttribute("aria-describedby", [...described].join(" "));
  answer.replaceChildren(...words);
};

/** @param {string} text */
const wrongWords = (text) => {
  const words = document.createElement("p");
  words.className = "wrong";
  words.textContent = text;
  return words;
};

/**
 * Say what is wrong beside a field.
 * @param {Element} field
 * @param {import("./api.js").Mistake | null} mistake
 */
export const mark = (field, mistake) => {
  if (!mistake) {
    answerOf(field)?.replaceChildren();
    field.removeAttribute("aria-invalid");
    return;
  }
  if (!(field instanceof HTMLButtonElement)) field.setAttribute("aria-invalid", "true");
  const whole = field instanceof HTMLTextAreaElement && !field.dataset.at && !field.name; // of a file: its lines are written
  answered(field, [wrongWords(whole ? said({ ...mistake, what: [mistake.where, mistake.what].filter(Boolean).join(": ") }) : said(forField(mistake)))]);
};

/**
 * Show both versions of a value and let one be chosen.
 * @param {Field} field
 * @param {string} theirs
 */
const showBoth = (field, theirs) => {
  const both = document.createElement("p");
  both.className = "acts";
  for (const [keep, words] of [["mine", "Write mine"], ["theirs", "Keep that of the file"]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "small";
    button.dataset.keep = keep;
    button.textContent = words ?? "";
    both.append(button, " ");
  }
  const held = theirs ? `"${theirs}"` : "nothing";
  answered(field, [wrongWords(`The file was changed meanwhile. It holds ${held} now; you typed "${textOf(field)}".`), both]);
  field.setAttribute("aria-invalid", "true");
};

/**
 * One of both versions was chosen.
 * @param {HTMLElement} button
 */
const keep = async (button) => {
  const found = /** @type {Field | null} */ (button.closest(".field")?.querySelector("[data-at]") ?? null);
  if (!found) return;
  found.focus(); // the button goes
  if (button.dataset.keep === "mine") {
    await refresh();
    await save(heirOf(found), true);
    return;
  }
  const held = found.dataset.now ?? found.dataset.was ?? "";
  if (found instanceof HTMLInputElement && found.type === "checkbox") found.checked = held === "true";
  else found.value = held;
  found.dataset.was = held;
  mark(found, null);
  await refresh(); // nothing is typed any more, so that the part is put in as the file has it
};

/**
 * Send changes of the file.
 * @param {Edit[]} edits
 * @param {Element} [element] where on the page they were made; its part says which text they count in
 */
export const sendEdits = (edits, element) => post(route("/edits"), { edits, revision: revision(element) });

/** @param {Field} field */
const editOf = (field) => {
  const { at = "", kind = "text", was = "" } = field.dataset;
  const value = meant(textOf(field), kind);
  const before = meant(was, kind === "rename" ? "text" : kind);
  if (kind === "rename") return { do: "rename", at, value, was: before, knows_was: true };
  return { do: value === null ? "unset" : "set", at, value, was: before, knows_was: true };
};

/**
 * A field that the session cannot do without was emptied: it is not sent, so that the file keeps what it holds.
 * @param {Field} field
 * @returns {import("./api.js").Mistake}
 */
const leftEmpty = ({ dataset: { needed = "", was = "" } }) => ({
  what: `${needed} is needed`, where: "", value: "",
  remedy: was ? `write another one, or press Escape for the one of the file, which stays "${was}"` : "write one",
});

/**
 * @param {Field} field
 * @param {boolean} [force] whether what the file holds does not matter
 * @param {boolean} [again] whether the line was looked for where it stands now
 * @returns {Promise<void>}
 */
const save = async (field, force = false, again = false) => {
  const sent = textOf(field);
  if (!typedIn(field) && !force) { mark(field, null); return; }
  if (field.dataset.needed !== undefined && !sent.trim()) { mark(field, leftEmpty(field)); return; }
  if (field.dataset.sent === sent && !force && !again) return; // it is on its way
  const edit = editOf(field);
  if (force) { delete (/** @type {Edit} */ (edit)).was; edit.knows_was = false; }
  field.setAttribute("aria-busy", "true");
  field.dataset.sent = sent;
  const answer = await sendEdits([edit, ...sentenceEdits(field)], field);
  const now = heirOf(field);
  for (const one of [field, now]) { one.removeAttribute("aria-busy"); delete one.dataset.sent; }
  if (answer.ok) {
    now.dataset.was = sent;
    mark(now, null);
    await refresh();
  } else if (answer.status === 409 && answer.mistake.theirs !== undefined) {
    await bothOf(now, answer.mistake.theirs, again);
  } else {
    mark(now, answer.mistake);
  }
};

/**
 * The file holds something else than the field was filled with: where it is only another line that came in between, the
 * value goes to its own line; else both versions are shown.
 * @param {Field} field
 * @param {string} theirs
 * @param {boolean} again
 */
const bothOf = async (field, theirs, again) => {
  const focused = field === document.activeElement;
  field.dataset.sent = textOf(field); // leaving it sends nothing
  field.blur(); // so that it is found at its line
  await refresh();
  const now = heirOf(field);
  for (const one of [field, now]) delete one.dataset.sent;
  if (focused) now.focus({ preventScroll: true });
  if (!again && now.dataset.now === now.dataset.was) { await save(now, false, true); return; }
  showBoth(now, now.dataset.now ?? theirs);
};

/** @param {Event} event */
const changed = (event) => {
  const field = /** @type {Field} */ (event.target);
  if (field.dataset.at) void save(field);
  else if (field.dataset.baseline) void makeBaseline(/** @type {HTMLInputElement} */ (field));
  else if (field.dataset.limit) void changeLimit(/** @type {HTMLSelectElement} */ (field));
  else if (field.dataset.moreLimit !== undefined) moreLimit(/** @type {HTMLSelectElement} */ (field));
};

/** @param {HTMLInputElement} chosen */
const makeBaseline = async (chosen) => {
  /** @type {NodeListOf<HTMLInputElement>} */
  const others = document.querySelectorAll("[data-baseline][data-was]");
  const edits = [...others].map((one) => ({ do: "unset", at: `${one.dataset.baseline}.baseline` }));
  const answer = await sendEdits([...edits, { do: "set", at: `${chosen.dataset.baseline}.baseline`, value: true }], chosen);
  if (answer.ok) { mark(chosen, null); await refresh(); }
  else mark(chosen, answer.mistake);
};

/** @param {HTMLSelectElement} chosen */
const changeLimit = async (chosen) => {
  const { limit = "", was = "" } = chosen.dataset;
  const number = /** @type {HTMLInputElement | null} */ (document.querySelector(`[data-at="${CSS.escape(`${limit}.${was}`)}"]`));
  const answer = await sendEdits([
    { do: "unset", at: `${limit}.${was}` }, { do: "set", at: `${limit}.${chosen.value}`, value: number?.value ?? "" },
    ...sentenceEdits(chosen)], chosen);
  if (answer.ok) await refresh();
  else mark(chosen, answer.mistake);
};

/** @param {HTMLSelectElement} chosen */
const moreLimit = (chosen) => {
  const name = chosen.value;
  if (!name) return;
  const field = document.createElement("div");
  field.className = "field";
  const label = document.createElement("label");
  const input = document.createElement("input");
  input.type = "text";
  input.id = `f-limits-${name}`;
  Object.assign(input.dataset, { at: `limits.${name}`, kind: "text", was: "" });
  label.htmlFor = input.id;
  label.textContent = chosen.selectedOptions[0]?.textContent ?? name;
  const answer = document.createElement("div");
  answer.className = "answer";
  answer.setAttribute("aria-live", "polite");
  field.append(label, input, answer);
  chosen.closest(".field")?.before(field);
  chosen.selectedOptions[0]?.remove();
  chosen.value = "";
  input.focus();
};

/** Leaving the page with something unsent asks first. */
const guardLeaving = () => addEventListener("beforeunload", (event) => {
  /** @type {NodeListOf<HTMLElement>} */
  const fields = document.querySelectorAll("[data-at]");
  if ([...fields].some((field) => typedIn(field))) event.preventDefault();
});

/** Listen to all fields of the page, whenever they come into it. */
export const startFields = () => {
  document.addEventListener("change", changed);
  document.addEventListener("click", (event) => {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("button[data-keep]"));
    if (button) void keep(button);
  });
  document.addEventListener("keydown", (event) => {
    const field = /** @type {HTMLElement} */ (event.target);
    if (event.key === "Enter" && field instanceof HTMLInputElement && field.dataset.at) { event.preventDefault(); void save(field); }
    const line = field instanceof HTMLInputElement || (field instanceof HTMLTextAreaElement && field.ariaInvalid === "true");
    if (event.key === "Escape" && line && field.dataset.at) {
      field.value = field.dataset.was ?? "";
      mark(field, null);
    }
  });
  guardLeaving();
};
