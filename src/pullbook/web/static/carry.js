// What a person has under their hands when a part of the page is put in anew: what is open, chosen, typed and in focus
// goes over to the new part. Lines of the file are told apart by what they are about, never by their place in it.

/** @typedef {HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement} Field */

const UNTYPED = new Set(["checkbox", "radio", "hidden", "file"]);
const PASSING = new Set(["was", "now", "sent", "words", "sure", "to", "is", "entry", "at"]); // data that says nothing of what it is for
const FOCUSABLE = "summary, button, input, select, textarea, a[href]";

/**
 * Fields that stand for others now.
 * @type {WeakMap<HTMLElement, HTMLElement>}
 */
const heirs = new WeakMap();

/**
 * The field or button that stands on the page now for one that stood there.
 * @template {HTMLElement} T
 * @param {T} element
 * @returns {T}
 */
export const heirOf = (element) => {
  const heir = heirs.get(element);
  return heir ? heirOf(/** @type {T} */ (heir)) : element;
};

/** @param {Field} field */
export const textOf = (field) =>
  field instanceof HTMLInputElement && field.type === "checkbox" ? (field.checked ? "true" : "") : field.value;

/**
 * Whether a field holds what was not sent.
 * @param {HTMLElement} element
 */
export const typedIn = (element) => {
  const field = /** @type {Field} */ (element);
  if (field.dataset.at !== undefined) return textOf(field) !== (field.dataset.was ?? "");
  if (field instanceof HTMLSelectElement || UNTYPED.has(field.type)) return false;
  return field.value !== field.defaultValue;
};

/** @param {ParentNode} root */
const entriesOf = (root) => [.../** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll("[data-entry]"))];

/** @param {HTMLElement} entry */
const identity = (entry) => `${entry.dataset.entry?.replace(/\[\d+\]/g, "")} ${entry.dataset.is ?? entry.dataset.entry}`;

/**
 * Whether the places of two versions of a part mean the same lines of the file.
 * @param {ParentNode} old
 * @param {ParentNode} fresh
 */
export const samePlaces = (old, fresh) =>
  entriesOf(old).map(identity).join("\n") === entriesOf(fresh).map(identity).join("\n");

/**
 * The line of a list, or the card of a file, in another version of its part.
 * @param {HTMLElement} fresh
 * @param {HTMLElement} entry
 * @returns {HTMLElement | null}
 */
const sameEntry = (fresh, entry) => {
  if (entry.dataset.entry === undefined) return fresh.querySelector(`[data-file="${CSS.escape(entry.dataset.file ?? "")}"]`);
  const part = /** @type {HTMLElement} */ (entry.closest("[data-part]"));
  const old = entriesOf(part), now = entriesOf(fresh), own = identity(entry);
  const there = now.filter((one) => identity(one) === own)[old.filter((one) => identity(one) === own).indexOf(entry)];
  if (there) return there;
  // It was given another name: then its place is taken by one that was not there before.
  const known = new Set(old.map(identity));
  return now.find((one) => one.dataset.entry === entry.dataset.entry && !known.has(identity(one))) ?? null;
};

/**
 * What an element is for, within its line or its part.
 * @param {HTMLElement} element
 * @param {HTMLElement | null} entry
 */
const role = (element, entry) => {
  const { name = "", type = "", id } = /** @type {HTMLInputElement} */ (element);
  const at = (element.dataset.at ?? "").replace(entry?.dataset.entry ?? "", "");
  const keys = Object.keys(element.dataset).filter((key) => !PASSING.has(key)).sort().join();
  const words = element instanceof HTMLButtonElement && element.dataset.sure === undefined ? element.textContent : "";
  return [element.tagName, entry ? "" : id, name, type, at, keys, words].join("|");
};

/**
 * The same element in another version of its part.
 * @param {HTMLElement} fresh
 * @param {HTMLElement} element
 * @returns {HTMLElement | null}
 */
export const partner = (fresh, element) => {
  const entry = /** @type {HTMLElement | null} */ (element.closest("[data-entry], [data-file]"));
  if (!entry && element.id) return fresh.querySelector(`#${CSS.escape(element.id)}`);
  const around = entry ?? /** @type {HTMLElement | null} */ (element.closest("[data-part]"));
  const within = entry ? sameEntry(fresh, entry) : fresh;
  if (!around || !within) return null;
  const own = role(element, entry);
  /** @type {(root: HTMLElement, of: HTMLElement | null) => HTMLElement[]} */
  const like = (root, of) => [.../** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll(element.tagName))].filter((one) => role(one, of) === own);
  return like(within, entry && within)[like(around, entry).indexOf(element)] ?? null;
};

/** @param {HTMLElement} part */
const typedFields = (part) =>
  [.../** @type {NodeListOf<Field>} */ (part.querySelectorAll("input, textarea, select"))].filter((field) => !field.closest("form.range") && typedIn(field));

/**
 * Whether a part has to wait: what is being typed into a field of the file is sent when the field is left, and a whole
 * text belongs to the version that it was begun on; what has no place in the new part would be lost.
 * @param {HTMLElement} part
 * @param {HTMLElement} fresh
 */
export const hasToWait = (part, fresh) => typedFields(part).some((field) =>
  (field.dataset.at !== undefined && field === document.activeElement)
  || field.closest("[data-text], [data-engine-save]") !== null
  || !partner(fresh, field));

/** @param {Element} field */
export const answerOf = (field) => {
  for (let around = field.parentElement; around; around = around.parentElement) {
    if (!around.matches(".field, form, li, .row, fieldset")) continue;
    const answers = /** @type {NodeListOf<HTMLElement>} */ (around.querySelectorAll(".answer"));
    const answer = answers[field instanceof HTMLButtonElement ? answers.length - 1 : 0];
    if (answer) return answer;
  }
  return null;
};

/**
 * What was typed and what was answered to it.
 * @param {Field} field
 * @param {Field} same
 */
const carryTyped = (field, same) => {
  if (same instanceof HTMLInputElement && field instanceof HTMLInputElement && same.type === "checkbox") same.checked = field.checked;
  else same.value = field.value;
  heirs.set(field, same);
  if (field.dataset.was === undefined) return;
  if (field.dataset.sent !== undefined) same.dataset.sent = field.dataset.sent;
  same.dataset.now = same.dataset.was ?? ""; // what the file holds, and what it held when the typing began
  same.dataset.was = field.dataset.was;
};

/**
 * @param {Field} field
 * @param {Field} same
 */
const carryAnswer = (field, same) => {
  for (const name of ["aria-invalid", "aria-describedby", "aria-busy"]) {
    const value = field.getAttribute(name);
    if (value !== null) same.setAttribute(name, value);
  }
  const old = answerOf(field), now = answerOf(same);
  if (!old || !now || !old.id) return;
  now.id = old.id;
  now.replaceChildren(...old.childNodes);
};

/**
 * What is opened, chosen and typed stays so.
 * @param {HTMLElement} old
 * @param {HTMLElement} fresh
 */
export const carryOver = (old, fresh) => {
  for (const details of /** @type {NodeListOf<HTMLDetailsElement>} */ (old.querySelectorAll("details"))) {
    const same = partner(fresh, details);
    if (same instanceof HTMLDetailsElement) same.open = details.open;
  }
  for (const select of /** @type {NodeListOf<HTMLSelectElement>} */ (old.querySelectorAll("select:not([data-at], [data-limit])"))) {
    const same = select.closest("[data-switch]") ? null : partner(fresh, select);
    if (same instanceof HTMLSelectElement && [...same.options].some((one) => one.value === select.value)) same.value = select.value;
  }
  for (const box of /** @type {NodeListOf<HTMLInputElement>} */ (old.querySelectorAll("input[type=radio][data-rule]:checked"))) {
    const same = partner(fresh, box);
    if (same instanceof HTMLInputElement && same.dataset.rule === box.dataset.rule) same.checked = true;
  }
  for (const field of typedFields(old)) {
    const same = /** @type {Field | null} */ (partner(fresh, field));
    if (same) { carryTyped(field, same); carryAnswer(field, same); }
  }
};

/**
 * Where the focus goes when a part is put in anew; nothing where it is not in the part.
 * @param {HTMLElement} old
 * @param {HTMLElement} fresh
 * @returns {() => void}
 */
export const focusOver = (old, fresh) => {
  const active = /** @type {HTMLElement | null} */ (document.activeElement);
  if (!active || active === document.body || !old.contains(active)) return () => undefined;
  const start = active instanceof HTMLInputElement && active.type === "text" ? [active.selectionStart, active.selectionEnd] : null;
  const same = partner(fresh, active), found = same ?? nearest(fresh, active);
  if (same) heirs.set(active, same);
  return () => {
    (active.isConnected ? active : found)?.focus({ preventScroll: true }); // some are moved over as they are
    if (found instanceof HTMLInputElement && start) found.setSelectionRange(start[0] ?? null, start[1] ?? null);
  };
};

/**
 * Where somebody goes on whose button or field is gone: in its line, else at what it stood in.
 * @param {HTMLElement} fresh
 * @param {HTMLElement} gone
 * @returns {HTMLElement | null}
 */
const nearest = (fresh, gone) => {
  const entry = /** @type {HTMLElement | null} */ (gone.closest("[data-entry], [data-file]"));
  const line = entry && sameEntry(fresh, entry);
  if (line) return line.querySelector(FOCUSABLE);
  for (let around = entry?.parentElement ?? gone.parentElement; around; around = around.parentElement) {
    const same = around.id ? /** @type {HTMLElement | null} */ (fresh.querySelector(`#${CSS.escape(around.id)}`)) : null;
    if (!same) continue;
    if (!same.matches(FOCUSABLE)) same.tabIndex = -1;
    return same;
  }
  return null;
};
