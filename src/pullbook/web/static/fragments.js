// The page asks for itself again and puts in the parts that are new. Whatever changed - a file on the disk, a job that
// is done, another tab - there is this one way in which the page follows, so that a page that was open all day and one
// that was opened now show the same.
//
// A part is an element with data-part and data-version. What is typed, open and in focus goes over to the new part; one
// in which a field of the file is being typed in waits until the field is left.

import { inPlace } from "./anchor.js";
import { takeToken } from "./api.js";
import { carryOver, focusOver, hasToWait, samePlaces, typedIn } from "./carry.js";

const CHANGED = "pullbook:changed";
/** @type {Promise<boolean> | null} */
let going = null;
/** @type {Promise<boolean> | null} */
let next = null;
let silent = ""; // what is said while the page cannot be had

/** @param {ParentNode} root */
const partsOf = (root) => [.../** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll("[data-part]"))];

/**
 * Fields of a part that has to wait: what is not typed in is that of now, as long as its places mean the same lines.
 * @param {HTMLElement} old
 * @param {HTMLElement} fresh
 */
const patchFields = (old, fresh) => {
  old.dataset.stale = "";
  if (!samePlaces(old, fresh)) return;
  if (fresh.dataset.revision !== undefined) old.dataset.revision = fresh.dataset.revision;
  for (const field of /** @type {NodeListOf<HTMLInputElement>} */ (old.querySelectorAll("[data-at]"))) {
    const same = /** @type {HTMLInputElement | null} */ (fresh.querySelector(`[data-at="${CSS.escape(field.dataset.at ?? "")}"]`));
    if (!same) continue;
    if (typedIn(field)) { field.dataset.now = same.dataset.was ?? ""; continue; }
    field.dataset.was = same.dataset.was ?? "";
    if (field.type === "checkbox") field.checked = same.checked;
    else field.value = same.value;
  }
};

/**
 * Put another version of a part in place of the one that is there.
 * @param {HTMLElement} there
 * @param {HTMLElement} part
 */
const replaced = (there, part) => {
  const added = document.importNode(part, true);
  carryOver(there, added);
  const giveBack = focusOver(there, added);
  there.replaceWith(added);
  giveBack();
  return added;
};

/**
 * @param {Document} fresh
 */
const patch = (fresh) => {
  const old = new Map(partsOf(document).map((part) => [part.dataset.part, part]));
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
    if (hasToWait(there, part)) { patchFields(there, part); continue; }
    before = replaced(there, part);
    changed.push(before);
  }
  for (const [name, part] of old) if (name !== "contents" && name !== "masthead") part.remove();
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

/** @param {string} words */
const tell = (words) => {
  const news = document.getElementById("news");
  if (news && (words || news.textContent === silent)) news.textContent = words;
  silent = words;
};

/**
 * The page cannot be had: its session is gone, or its address asks what cannot be asked. What is shown stays.
 * @param {Document} answer
 */
const refused = (answer) => {
  const said = /** @type {HTMLElement | null} */ (answer.getElementById("mistake"))?.innerText.trim().split(/\n+/).slice(0, 2) ?? [];
  tell(said.length ? `${said.join(". ")} What you see and what you typed stays here.` : "The notebook did not give the page; it is asked for again with the next change.");
};

/** Key of the findings on the page: they stay, marked, while others are computed. */
const shownKey = () => /** @type {HTMLElement | null} */ (document.querySelector("[data-key]"))?.dataset.key ?? "";

/** @returns {Promise<boolean>} */
const once = async () => {
  try {
    const address = location.pathname + location.search;
    const answer = await fetch(address, { headers: { Accept: "text/html", "X-Pullbook-Shown": shownKey() } });
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (address !== location.pathname + location.search) return await once(); // something else is asked by now
    const failed = document.getElementById("mistake") !== null; // this page itself is about a mistake
    if (!answer.ok) { if (!failed) refused(fresh); return true; }
    if (failed) { location.reload(); return true; }
    tell("");
    headOf(fresh);
    const { kept } = inPlace(() => {
      const changed = patch(fresh);
      for (const part of changed) part.dispatchEvent(new CustomEvent(CHANGED, { bubbles: true }));
      if (changed.length) document.dispatchEvent(new CustomEvent("pullbook:refreshed"));
    });
    // What was looked at is gone, because it cannot be answered any more: then the reason is what is looked at.
    if (!kept) document.querySelector("#findings-pending, .problems")?.scrollIntoView({ behavior: "instant" });
    return true;
  } catch {
    return false;
  }
};

/**
 * Ask for the page again and put in what is new; "pullbook:changed" is sent from each part that was. It is over when
 * the page shows what was true at the call.
 * @returns {Promise<boolean>} whether the notebook answered
 */
export const refresh = () => {
  if (going === null) {
    going = once().finally(() => { going = null; });
    return going;
  }
  next ??= going.then(() => { next = null; return refresh(); });
  return next;
};

const GATHER = 120; // ms in which several changes become one look
const SHARE = 3; // a page that takes long to put in is put in less often: at most a quarter of the time goes into it
/** @type {number | undefined} */
let planned;
const last = { ended: 0, took: 0 };

/** Refresh the page before long; many changes that come one after the other become few looks. */
export const refreshSoon = () => {
  if (planned !== undefined) return;
  const rest = last.ended + SHARE * last.took - performance.now();
  planned = setTimeout(async () => {
    planned = undefined;
    const begun = performance.now();
    await refresh();
    last.ended = performance.now();
    last.took = last.ended - begun;
  }, Math.max(GATHER, rest));
};

/** A part that somebody was typing in is brought up to date when they are done. */
export const startParts = () => document.addEventListener("focusout", (event) => {
  if (/** @type {Element} */ (event.target).closest("[data-stale]")) setTimeout(() => { void refresh(); }, 0);
});

/**
 * Show another address without leaving the page.
 * @param {string} search
 */
export const goTo = async (search) => {
  history.replaceState(null, "", location.pathname + search + location.hash);
  await refresh();
};
