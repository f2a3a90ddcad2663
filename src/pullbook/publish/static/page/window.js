// The rpm window of the page: one window on every chart and for every number. It needs no server: the tables of all
// windows are in the page, or are read once.
//
// A page that keeps the window in its address listens to "pullbook:window" at the document; event.detail is
// { low, high, settled }, and settled is false while something is being dragged. A window in the address, as in
// ?window=2400-3400, is taken up at the start.

import { hiddenBuilds } from "./builds.js";
import { leaveDragging, showRange } from "./charts.js";
import { unitSystem } from "./units.js";
import { drawBar, layBar } from "./window-bar.js";
import { drawPictures } from "./window-picture.js";
import { drawBoth, drawRows } from "./window-rows.js";
import { drawShades, layShades, movedBy, nearestEnd } from "./window-shade.js";
import { readWindows } from "./window-tables.js";

/** @typedef {[low: number, high: number]} RpmWindow */
/** @typedef {import("./window-tables.js").WindowTables} WindowTables */
/** @typedef {import("./window-tables.js").Tables<import("./window-tables.js").CodedTables>} TablesWithAll */

/**
 * @typedef {object} WindowPage
 * @property {WindowTables | null} tables
 * @property {TablesWithAll | null} withAll with every pull kept; read when somebody looks at them
 * @property {RpmWindow} window
 * @property {boolean} listens
 * @property {number} turn of the findings
 * @property {import("./loader.js").Loader | null} loader null when there is nothing more to be read
 */

/** @type {WindowPage} */
const page = { tables: null, withAll: null, window: [NaN, NaN], listens: false, turn: 0, loader: null };

/** The window that is chosen; null before there is one. */
export const chosenWindow = () => (page.listens ? page.window : null);

/**
 * The window that the address of the page asks for.
 * @returns {RpmWindow | null}
 */
const askedWindow = () => {
  const found = /^\s*(\d+(?:\.\d+)?)\s*(?:\.\.|-)\s*(\d+(?:\.\d+)?)\s*(?:rpm)?\s*$/
    .exec(new URLSearchParams(location.search).get("window") ?? "");
  return found ? [Number(found[1]), Number(found[2])] : null;
};

/**
 * The nearest window that begins and ends where one may.
 * @param {number[]} ends
 * @param {RpmWindow} window
 * @returns {RpmWindow}
 */
const snapped = (ends, [low, high]) => {
  const from = nearestEnd(ends, low), to = nearestEnd(ends, high);
  if (from < to) return [ends[from], ends[to]];
  return movedBy(ends, [ends[from], ends[from]], from < ends.length - 1 ? "high" : "low", 0);
};

/** @param {boolean} settled */
const drawWindow = (settled) => {
  const { tables, window } = page;
  if (!tables) return;
  drawPictures(tables, window, unitSystem()); // looks where they are, before anything is changed
  drawShades();
  drawBar(tables, window, unitSystem(), hiddenBuilds(), settled);
  drawRows(tables, window, unitSystem());
  drawBoth(tables, page.withAll, window, unitSystem());
};

/** The results with every pull kept are in a list that few open: they are read when it is open. */
const readWithAll = async () => {
  const { turn, loader } = page;
  const list = /** @type {HTMLDetailsElement | null} */ (document.querySelector("#both-results"));
  if (!loader || !list?.open) return;
  page.loader = null;
  const data = await loader.windowsWithAll();
  if (turn !== page.turn) return;
  if (!data?.pairs?.length) { page.loader = loader; return; }
  page.withAll = readWindows(data);
  drawWindow(true);
};

/**
 * Choose a window; its ends go to the nearest speeds at which one may begin and end.
 * @param {RpmWindow} window in rpm
 * @param {boolean} [settled] false while something is being dragged
 */
export const chooseWindow = (window, settled = true) => {
  const { tables } = page;
  if (!tables) return;
  const next = window.every(Number.isFinite) ? snapped(tables.ends, window) : page.window;
  if (!settled && next[0] === page.window[0] && next[1] === page.window[1]) return;
  page.window = next;
  drawWindow(settled);
  const [low, high] = next;
  document.dispatchEvent(new CustomEvent("pullbook:window", { detail: { low, high, settled } }));
};

/** Lay the window over the charts and numbers of the page; call it again when parts of the page were put in anew. */
export const layWindow = () => {
  const { tables } = page;
  if (!tables) return;
  layShades({ chosen: () => page.window, ends: tables.ends, choose: chooseWindow });
  layBar({ tables, choose: (window) => chooseWindow(window), zoom: showRange });
  drawWindow(true);
  void readWithAll();
};

const listenToPage = () => {
  if (page.listens) return;
  page.listens = true;
  leaveDragging();
  document.documentElement.classList.add("windowed");
  // Units and builds may be switched; whoever changes them has done so when the event has come up to here.
  document.addEventListener("change", (event) => {
    if (/** @type {HTMLElement} */ (event.target).matches("input[name=units], input.toggle")) drawWindow(true);
  });
  document.addEventListener("toggle", () => { void readWithAll(); }, true);
};

/**
 * Take up the tables of all windows, for the first time or anew for other findings; the window stays what it was. Until
 * they are there, and where there are none, no number of a window is shown: those of other findings would be wrong.
 * @param {import("./loader.js").Loader} loader
 * @returns {Promise<boolean>} whether there are tables
 */
export const startWindow = async (loader) => {
  page.turn += 1;
  Object.assign(page, { tables: null, withAll: null, loader: null });
  const { turn } = page;
  const data = await loader.windows();
  if (turn !== page.turn || !data?.pairs?.length) return false;
  const tables = readWindows(data);
  const { ends } = tables, third = Math.floor(ends.length / 3);
  const begin = page.listens ? page.window : askedWindow() ?? data.start ?? [ends[third], ends[ends.length - 1 - third]];
  Object.assign(page, { tables, loader, window: snapped(ends, begin) });
  listenToPage();
  layWindow();
  return true;
};
