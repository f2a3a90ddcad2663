// What somebody looks at stays where it is on the screen while parts of the page are put in anew above it. It is found
// again by its name or, where it has none, by its words: the numbers in them may be others by now.

const HOLD = 4000; // ms in which charts and tables that are filled in afterwards may still move the page
const STEP = 14; // px between two looks for what stands at the top of the view
const HANDS = ["wheel", "touchmove", "pointerdown", "keydown"]; // whoever does this moves the page on purpose

/** @typedef {{ id: string, tag: string, words: string, index: number }} Step */
/** @typedef {{ element: Element, part: string, way: Step[], top: number }} Held */

/** @type {(() => void) | null} */
let release = null;

/** @param {Element} element */
const isSeen = (element) => {
  const { top, bottom } = element.getBoundingClientRect();
  return bottom > 0 && top < innerHeight;
};

/** @param {string} name */
const partNamed = (name) => document.querySelector(`main [data-part="${CSS.escape(name)}"]`);

/**
 * Letters that an element begins with, without what a new comparison changes.
 * @param {Element} element
 */
const wordsOf = (element) => (element.textContent ?? "").slice(0, 400).replace(/[^\p{L}]+/gu, " ").trim().slice(0, 80);

/**
 * @param {Element} element
 * @returns {Held | null}
 */
const heldBy = (element) => {
  const part = /** @type {HTMLElement | null} */ (element.closest("main [data-part]"));
  if (!part) return null;
  /** @type {Step[]} */
  const way = [];
  for (let one = element; one !== part && one.parentElement; one = one.parentElement) {
    const like = [...one.parentElement.children].filter((other) => other.tagName === one.tagName);
    way.unshift({ id: one.id, tag: one.tagName, words: wordsOf(one), index: like.indexOf(one) });
  }
  return { element, part: part.dataset.part ?? "", way, top: element.getBoundingClientRect().top };
};

/** What may be held, best first: what is in focus and seen, then what stands at the top of the view. */
const candidates = () => {
  const active = document.activeElement, main = document.getElementById("main");
  /** @type {Set<Element>} */
  const found = new Set(active && active !== document.body && active !== main && isSeen(active) ? [active] : []);
  const left = (main?.getBoundingClientRect().left ?? 0) + STEP;
  const head = document.querySelector(".masthead")?.getBoundingClientRect().bottom ?? 0;
  for (let y = Math.max(head, 0) + 2; y < innerHeight && found.size < 12; y += STEP) {
    const hit = document.elementFromPoint(left, y);
    // Of something taller than the view it does not matter to anybody where it begins.
    if (hit?.closest("main [data-part] > *") && hit.getBoundingClientRect().height < innerHeight) found.add(hit);
  }
  return [...found].map(heldBy).filter((one) => one !== null);
};

/**
 * The same element among the children of another one.
 * @param {Element} around
 * @param {Step} step
 */
const nextStep = (around, { id, tag, words, index }) => {
  const like = [...around.children].filter((one) => one.tagName === tag);
  const named = id ? like.find((one) => one.id === id) : undefined;
  const said = like.filter((one) => wordsOf(one) === words)
    .sort((one, other) => Math.abs(like.indexOf(one) - index) - Math.abs(like.indexOf(other) - index));
  return named ?? said[0] ?? like[index] ?? null;
};

/**
 * Where something that was held is now, or the nearest thing around it that is still there.
 * @param {Held} held
 * @returns {Element | null}
 */
const found = ({ element, part, way }) => {
  if (element.isConnected) return element;
  const own = partNamed(part);
  if (!own) return null;
  const named = way.findLastIndex(({ id }) => id && own.querySelector(`#${CSS.escape(id)}`));
  let now = named < 0 ? own : /** @type {Element} */ (own.querySelector(`#${CSS.escape(way[named]?.id ?? "")}`));
  for (const step of way.slice(named + 1)) {
    const next = nextStep(now, step);
    if (!next) break;
    now = next;
  }
  return now === own ? null : now; // that the part is still there says nothing of what was looked at
};

/**
 * Keep what was held at its place for a while, unless somebody moves the page. Tables and charts that are filled in put
 * others in its place, so that it is looked for each time.
 * @param {Held} held
 */
const hold = (held) => {
  const root = document.documentElement;
  const back = () => {
    const off = (found(held)?.getBoundingClientRect().top ?? held.top) - held.top;
    if (Math.abs(off) > 1) scrollBy({ top: off, behavior: "instant" });
  };
  const watch = new ResizeObserver(back);
  const end = setTimeout(() => release?.(), HOLD);
  release = () => {
    release = null;
    clearTimeout(end);
    watch.disconnect();
    root.style.overflowAnchor = "";
    for (const name of HANDS) removeEventListener(name, letGo, true);
  };
  const letGo = () => release?.();
  root.style.overflowAnchor = "none"; // one who holds is enough
  for (const name of HANDS) addEventListener(name, letGo, { capture: true, passive: true });
  watch.observe(document.body);
  back();
};

/**
 * Do something to the page while what somebody looks at stays where it is on the screen.
 * @template T
 * @param {() => T} act
 * @returns {{ done: T, kept: boolean }} what was done, and whether the part is still there that was looked at
 */
export const inPlace = (act) => {
  release?.();
  if (scrollY <= 0) return { done: act(), kept: true }; // whoever stands at the top sees what comes there
  const held = candidates();
  const done = act();
  if (held[0] && !partNamed(held[0].part)) return { done, kept: false };
  const still = held.find(found);
  if (still) hold(still);
  return { done, kept: true };
};
