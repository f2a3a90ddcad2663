// The page asks for itself again and puts in the parts that are new. Whatever changed - a file on the disk, a job that
// is done, another tab - there is this one way in which the page follows, so that a page that was open all day and one
// that was opened now show the same.
//
// A part is an element with data-part and data-version. A part that somebody is typing in is not replaced: its fields
// keep what was typed, and take over what the page would have shown as what they were.

import { takeToken } from "./api.js";

const CHANGED = "pullbook:changed";
let running = false;
let wanted = false;

/** @param {ParentNode} root */
const partsOf = (root) => [.../** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll("[data-part]"))];

/** @param {HTMLElement} field */
export const typedIn = (field) => {
  const input = /** @type {HTMLInputElement} */ (field);
  if (input.type === "checkbox" || input.type === "radio") return false;
  if (input instanceof HTMLSelectElement) return false;
  return input.dataset.was !== undefined ? input.value !== input.dataset.was : input.value !== input.defaultValue;
};

/**
 * Whether somebody is at work in a part: a field has the focus, or holds what was not sent.
 * @param {HTMLElement} part
 */
const isBusy = (part) => {
  const active = document.activeElement;
  const types = active instanceof HTMLInputElement || active instanceof HTMLTextAreaElement || active instanceof HTMLSelectElement;
  if (types && part.contains(active) && typedIn(/** @type {HTMLElement} */ (active))) return true;
  /** @type {NodeListOf<HTMLElement>} */
  const fields = part.querySelectorAll("input, textarea");
  return [...fields].some((field) => !field.closest("form.range") && typedIn(field)); // that one sends nothing
};

/**
 * What is opened, scrolled and in focus stays so.
 * @param {HTMLElement} old
 * @param {HTMLElement} fresh
 */
const carryOver = (old, fresh) => {
  for (const details of /** @type {NodeListOf<HTMLDetailsElement>} */ (old.querySelectorAll("details"))) {
    const same = matching(fresh, details);
    if (same instanceof HTMLDetailsElement) same.open = details.open;
  }
  for (const select of /** @type {NodeListOf<HTMLSelectElement>} */ (old.querySelectorAll("select[id]:not([data-at])"))) {
    const same = matching(fresh, select);
    if (same instanceof HTMLSelectElement && [...same.options].some((one) => one.value === select.value)) same.value = select.value;
  }
  for (const box of /** @type {NodeListOf<HTMLInputElement>} */ (old.querySelectorAll("input[type=radio][data-rule]:checked"))) {
    const same = matching(fresh, box);
    if (same instanceof HTMLInputElement && same.dataset.rule === box.dataset.rule) same.checked = true;
  }
};

/**
 * The same element in another version of its part: by id, or by its place among those of its entry.
 * @param {HTMLElement} fresh
 * @param {HTMLElement} element
 */
const matching = (fresh, element) => {
  if (element.id) return fresh.querySelector(`#${CSS.escape(element.id)}`);
  const entry = /** @type {HTMLElement | null} */ (element.closest("[data-entry], [data-file]"));
  const [key, name] = entry?.dataset.entry === undefined ? ["file", entry?.dataset.file] : ["entry", entry.dataset.entry];
  const within = entry ? fresh.querySelector(`[data-${key}="${CSS.escape(name ?? "")}"]`) : fresh;
  const own = [...(entry ?? /** @type {HTMLElement} */ (element.closest("[data-part]"))).querySelectorAll(element.tagName)];
  return within?.querySelectorAll(element.tagName)[own.indexOf(element)] ?? null;
};

/** @returns {{ key: string, start: number | null } | null} */
const focusOf = () => {
  const active = /** @type {HTMLElement | null} */ (document.activeElement);
  if (!active || active === document.body) return null;
  const key = active.id ? `#${CSS.escape(active.id)}` : "";
  const start = active instanceof HTMLInputElement && active.type === "text" ? active.selectionStart : null;
  return key ? { key, start } : null;
};

/** @param {{ key: string, start: number | null } | null} focus */
const giveBack = (focus) => {
  if (!focus || document.activeElement !== document.body) return;
  const found = /** @type {HTMLElement | null} */ (document.querySelector(focus.key));
  found?.focus({ preventScroll: true });
  if (found instanceof HTMLInputElement && focus.start !== null) found.setSelectionRange(focus.start, focus.start);
};

/**
 * Fields that somebody types in keep it; what they were, what is said of them and their state are those of now.
 * @param {HTMLElement} old
 * @param {HTMLElement} fresh
 */
const patchFields = (old, fresh) => {
  for (const field of /** @type {NodeListOf<HTMLInputElement>} */ (old.querySelectorAll("[data-at]"))) {
    const same = /** @type {HTMLInputElement | null} */ (fresh.querySelector(`[data-at="${CSS.escape(field.dataset.at ?? "")}"]`));
    if (!same || typedIn(field)) continue;
    field.dataset.was = same.dataset.was ?? "";
    if (field.type === "checkbox") field.checked = same.checked;
    else field.value = same.value;
  }
};

/**
 * @param {Document} fresh
 */
const patch = (fresh) => {
  const old = new Map(partsOf(document).map((part) => [part.dataset.part, part]));
  const focus = focusOf();
  /** @type {HTMLElement[]} */
  const changed = [];
  /** @type {HTMLElement | null} */
  let before = null;
  for (const part of partsOf(fresh)) {
    const there = old.get(part.dataset.part);
    old.delete(part.dataset.part);
    if (!there) {
      const added = document.importNode(part, true);
      if (before) before.after(added);
      else document.getElementById("main")?.prepend(added);
      changed.push(added);
      before = added;
      continue;
    }
    before = there;
    if (there.dataset.version === part.dataset.version) continue;
    if (isBusy(there)) { patchFields(there, part); there.dataset.stale = ""; continue; }
    const added = document.importNode(part, true);
    carryOver(there, added);
    there.replaceWith(added);
    changed.push(added);
    before = added;
  }
  for (const [name, part] of old) if (name !== "contents" && name !== "masthead") part.remove();
  giveBack(focus);
  return changed;
};

/** @param {Document} fresh */
const headOf = (fresh) => {
  document.title = fresh.title;
  takeToken(/** @type {HTMLMetaElement | null} */ (fresh.querySelector('meta[name="pullbook-token"]'))?.content ?? "");
  const state = /** @type {HTMLElement | null} */ (fresh.querySelector("[data-session]"));
  const own = /** @type {HTMLElement | null} */ (document.querySelector("[data-session]"));
  if (state && own) Object.assign(own.dataset, state.dataset);
};

/**
 * Ask for the page again and put in what is new; "pullbook:changed" is sent from each part that was.
 * @returns {Promise<boolean>} whether the notebook answered
 */
export const refresh = async () => {
  if (running) { wanted = true; return true; }
  running = true;
  try {
    const answer = await fetch(location.pathname + location.search, { headers: { Accept: "text/html" } });
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    headOf(fresh);
    const changed = patch(fresh);
    for (const part of changed) part.dispatchEvent(new CustomEvent(CHANGED, { bubbles: true }));
    if (changed.length) document.dispatchEvent(new CustomEvent("pullbook:refreshed"));
    return true;
  } catch {
    return false;
  } finally {
    running = false;
    if (wanted) { wanted = false; void refresh(); }
  }
};

/** A part that somebody was typing in is brought up to date when they are done. */
export const startParts = () => document.addEventListener("focusout", () => {
  setTimeout(() => {
    const stale = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-stale]"));
    if ([...stale].some((part) => !isBusy(part))) void refresh();
  }, 0);
});

/**
 * Show another address without leaving the page.
 * @param {string} search
 */
export const goTo = async (search) => {
  history.replaceState(null, "", location.pathname + search + location.hash);
  await refresh();
};
