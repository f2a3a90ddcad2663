// Fields of session.toml. Each is sent when it is left; a wrong value stays in the field, is marked and explained, and
// changes nothing. Where the file holds something else by now, both versions are shown and one is chosen.

import { post, revision, route, said } from "./api.js";
import { refresh, typedIn } from "./fragments.js";

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

/** @param {Field} field */
const textOf = (field) =>
  field instanceof HTMLInputElement && field.type === "checkbox" ? (field.checked ? "true" : "") : field.value;

/** @param {Element} field */
export const answerOf = (field) =>
  /** @type {HTMLElement | null} */ (field.closest(".field, form, li, .row")?.querySelector(".answer") ?? null);

/**
 * Say what is wrong beside a field.
 * @param {Element} field
 * @param {import("./api.js").Mistake | null} mistake
 */
export const mark = (field, mistake) => {
  const answer = answerOf(field);
  answer?.replaceChildren();
  if (!mistake) { field.removeAttribute("aria-invalid"); return; }
  field.setAttribute("aria-invalid", "true");
  const words = document.createElement("p");
  words.className = "wrong";
  words.textContent = said(mistake);
  if (answer) {
    if (!answer.id) answer.id = `answer-${field.id || Math.random().toString(36).slice(2)}`;
    field.setAttribute("aria-describedby", [...new Set([...(field.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean), answer.id])].join(" "));
    answer.append(words);
  }
};

/**
 * Show both versions of a value and let one be chosen.
 * @param {Field} field
 * @param {string} theirs
 * @param {() => void} keepMine
 */
const showBoth = (field, theirs, keepMine) => {
  const answer = answerOf(field);
  if (!answer) return;
  const words = document.createElement("p");
  words.className = "wrong";
  words.textContent = `The file was changed meanwhile. It holds ${theirs || "nothing"} now; you typed "${textOf(field)}".`;
  const mine = document.createElement("button");
  const other = document.createElement("button");
  for (const button of [mine, other]) { button.type = "button"; button.className = "small"; }
  mine.textContent = "Write mine";
  other.textContent = "Keep that of the file";
  mine.addEventListener("click", keepMine);
  other.addEventListener("click", () => {
    if (field instanceof HTMLInputElement && field.type === "checkbox") field.checked = field.dataset.was === "true";
    else field.value = field.dataset.was ?? "";
    mark(field, null);
    void refresh(); // nothing is typed any more, so that the part is put in as the file has it
  });
  const both = document.createElement("p");
  both.className = "acts";
  both.append(mine, " ", other);
  answer.replaceChildren(words, both);
  field.setAttribute("aria-invalid", "true");
};

/**
 * Send changes of the file.
 * @param {Edit[]} edits
 */
export const sendEdits = (edits) => post(route("/edits"), { edits, revision: revision() });

/** @param {Field} field */
const editOf = (field) => {
  const { at = "", kind = "text", was = "" } = field.dataset;
  const value = meant(textOf(field), kind);
  const before = meant(was, kind === "rename" ? "text" : kind);
  if (kind === "rename") return { do: "rename", at, value, was: before, knows_was: true };
  return { do: value === null ? "unset" : "set", at, value, was: before, knows_was: true };
};

/**
 * @param {Field} field
 * @param {boolean} [force] whether what the file holds does not matter
 */
const save = async (field, force = false) => {
  if (textOf(field) === (field.dataset.was ?? "") && !force) { mark(field, null); return; }
  const edit = editOf(field);
  if (force) { delete (/** @type {Edit} */ (edit)).was; edit.knows_was = false; }
  field.setAttribute("aria-busy", "true");
  const sent = textOf(field);
  const answer = await sendEdits([edit]);
  field.removeAttribute("aria-busy");
  if (answer.ok) {
    field.dataset.was = sent;
    mark(field, null);
    await refresh();
  } else if (answer.status === 409 && answer.mistake.theirs !== undefined) {
    showBoth(field, answer.mistake.theirs, () => { void save(field, true); });
  } else {
    mark(field, answer.mistake);
  }
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
  const answer = await sendEdits([...edits, { do: "set", at: `${chosen.dataset.baseline}.baseline`, value: true }]);
  if (answer.ok) { mark(chosen, null); await refresh(); }
  else mark(chosen, answer.mistake);
};

/** @param {HTMLSelectElement} chosen */
const changeLimit = async (chosen) => {
  const { limit = "", was = "" } = chosen.dataset;
  const number = /** @type {HTMLInputElement | null} */ (document.querySelector(`[data-at="${CSS.escape(`${limit}.${was}`)}"]`));
  const answer = await sendEdits([
    { do: "unset", at: `${limit}.${was}` }, { do: "set", at: `${limit}.${chosen.value}`, value: number?.value ?? "" }]);
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
  label.textContent = name.replaceAll("_", " ");
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
  document.addEventListener("keydown", (event) => {
    const field = /** @type {HTMLElement} */ (event.target);
    if (event.key === "Enter" && field instanceof HTMLInputElement && field.dataset.at) field.blur();
    if (event.key === "Escape" && field instanceof HTMLInputElement && field.dataset.at) {
      field.value = field.dataset.was ?? "";
      mark(field, null);
    }
  });
  guardLeaving();
};
