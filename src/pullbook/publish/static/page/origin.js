// Where a number came from. Each statement has one number that is a link to what stands behind it, in the provenance
// at the end of the page; with scripts that part opens in a dialog beside the number, and so does a click on any other
// number of the statement.

/** What one statement is. */
const STATEMENT = "li, tr, p, h2, td";

/**
 * The link of the statement that a number is part of.
 * @param {Element} number
 * @returns {HTMLAnchorElement | null}
 */
const linkOf = (number) => {
  if (number instanceof HTMLAnchorElement) return number;
  for (let part = number.closest(STATEMENT); part; part = part.parentElement?.closest(STATEMENT) ?? null) {
    const link = part.querySelector("a.q");
    if (link instanceof HTMLAnchorElement) return link;
  }
  return null;
};

/** @returns {HTMLDialogElement} */
const originDialog = () => {
  const found = document.getElementById("origin");
  if (found instanceof HTMLDialogElement) return found;
  const dialog = document.createElement("dialog");
  dialog.id = "origin";
  dialog.className = "origin-dialog";
  dialog.setAttribute("aria-labelledby", "origin-title");
  dialog.addEventListener("click", (event) => {
    const target = /** @type {Element} */ (event.target);
    // A click beside the box, or on a link to another place of the page, closes it.
    if (target === dialog || target.closest("a[href^='#'], button.close")) dialog.close();
  });
  document.body.append(dialog);
  return dialog;
};

/**
 * @param {string} name of the element
 * @param {string} css
 * @param {string} text
 */
const worded = (name, css, text) => {
  const made = document.createElement(name);
  made.className = css;
  made.textContent = text;
  return made;
};

/** What was assumed, out of the page; null where nothing was. */
const assumed = () => {
  const title = document.getElementById("assumptions"), list = title?.nextElementSibling;
  if (!title || !list?.matches("ul")) return null;
  const folded = document.createElement("details");
  folded.append(worded("summary", "", title.textContent ?? ""), list.cloneNode(true));
  return folded;
};

/**
 * Show what stands behind a number.
 * @param {HTMLAnchorElement} link
 * @param {string} number as it is written
 * @returns {boolean} false where the page has nothing to show
 */
const showOrigin = (link, number) => {
  const source = document.getElementById(link.hash.slice(1));
  if (!source) return false;
  const dialog = originDialog();
  const title = worded("h2", "origin-title", number);
  title.id = "origin-title";
  title.tabIndex = -1;
  title.autofocus = true;
  const parts = document.createElement("div");
  for (const part of source.children) {
    const copy = /** @type {Element} */ (part.cloneNode(true));
    if (!copy.querySelector("a[href='#assumptions']")) parts.append(copy);
  }
  const close = worded("button", "close", "Close");
  close.setAttribute("type", "button");
  const head = document.createElement("div");
  head.className = "origin-head";
  head.append(title, close);
  const assumptions = assumed();
  dialog.replaceChildren(head, worded("p", "origin-of", source.dataset.title ?? ""), parts,
    ...(assumptions ? [assumptions] : []));
  dialog.scrollTop = 0;
  dialog.showModal();
  return true;
};

/** Where a link leads into a closed part of the page, open it. */
const openTarget = () => {
  const target = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
  const folded = target?.closest("details");
  if (folded) folded.open = true;
};

/** Let every number of the page, also of parts that are put in later, open what stands behind it. */
export const startOrigins = () => {
  document.documentElement.classList.add("asks");
  document.addEventListener("click", (event) => {
    if (event.defaultPrevented || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const number = event.target instanceof Element ? event.target.closest(".q") : null;
    const link = number && linkOf(number);
    if (number && link && showOrigin(link, number.textContent ?? "")) event.preventDefault();
  });
  addEventListener("hashchange", openTarget);
  openTarget();
};
