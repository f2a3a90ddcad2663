// What is said of a window, in words and digits: in the line under the charts and in the rows of the tables.

import { rpmRange, stated, typeset } from "./format.js";

/** @typedef {import("./window-tables.js").WindowTables} WindowTables */
/** @typedef {import("./window-tables.js").Quantity} Quantity */
/** @typedef {"metric" | "us"} System */

/**
 * @typedef {object} PairWords
 * @property {string} of
 * @property {string} from
 * @property {string} sign "gains", "gives up" or "not decided"; empty where no doubt can be stated
 * @property {Partial<Record<Quantity, string>>} gains
 */

/**
 * Range of speed in words.
 * @param {[low: number, high: number]} window
 */
export const windowWords = ([low, high]) => typeset(rpmRange(low, high));

/**
 * Where the numbers of a pair come from: the link that its rows in the table of windows have; empty without one.
 * @param {string} pair as the rows name it
 */
export const originOf = (pair) => {
  const row = [...document.querySelectorAll("table.windows tbody:not(.chosen) tr")]
    .find((one) => one.querySelector("th")?.textContent === typeset(pair));
  return row?.querySelector("a.q")?.getAttribute("href") ?? "";
};

/**
 * A number that can be asked where it comes from, as the numbers of the page are.
 * @param {string} text
 * @param {string} [href] of its origin; another number of the same statement leads there where it is left out
 */
export const askedNumber = (text, href = "") => {
  const made = document.createElement(href ? "a" : "span");
  made.className = "q";
  made.textContent = text;
  if (href) made.setAttribute("href", href);
  return made;
};

/**
 * Which of the two unit systems a part of the page is in.
 * @param {Element} part
 * @param {System} system of a page that shows one
 * @returns {System}
 */
export const systemAt = (part, system) => (part.closest(".us") ? "us" : part.closest(".metric") ? "metric" : system);

/** @param {import("./format.js").Interval} gain */
export const signOf = ({ low, high }) => {
  if (!Number.isFinite(high - low)) return "";
  return low > 0 ? "gains" : high < 0 ? "gives up" : "not decided";
};

/**
 * A mean gain in words.
 * @param {WindowTables} tables
 * @param {Quantity} name
 * @param {System} system
 * @param {import("./format.js").Interval} gain
 */
export const gainStated = (tables, name, system, gain) => {
  const [symbol, factor] = tables.data.measures[name === "check" ? "torque" : name][system];
  return typeset(stated({ symbol, factor }, gain, true));
};

/**
 * Every pair's mean gains over a window; null where it is not measured throughout.
 * @param {WindowTables} tables
 * @param {[low: number, high: number]} window
 * @param {System} system
 * @returns {PairWords[] | null}
 */
export const gainWords = (tables, [low, high], system) => {
  /** @type {PairWords[]} */
  const told = [];
  for (const [number, { of, from }] of tables.data.pairs.entries()) {
    const gains = tables.gains(number, low, high);
    if (!gains?.torque) return null;
    /** @type {Partial<Record<Quantity, string>>} */
    const words = {};
    for (const name of /** @type {Quantity[]} */ (Object.keys(gains))) {
      const gain = gains[name];
      if (gain) words[name] = gainStated(tables, name, system, gain);
    }
    told.push({ of, from, sign: signOf(gains.torque), gains: words });
  }
  return told;
};
