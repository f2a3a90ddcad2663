// The chosen window in the tables of windows: a row for each pair, above those of the session. Where it is one of the
// session's own windows, its rows are there already and are marked.

import { askedNumber, gainStated, gainWords, originOf, systemAt, windowWords } from "./window-words.js";

/** @typedef {import("./window-words.js").PairWords} PairWords */
/** @typedef {import("./window-words.js").System} System */
/** @typedef {import("./window-tables.js").WindowTables} WindowTables */

const SIGNS = ["gains", "gives up", "not decided"];

/**
 * A cell as those of the session's own windows are.
 * @param {string} text
 * @param {number} column
 * @param {string} href origin of the numbers
 */
const cellOf = (text, column, href) => {
  const cell = document.createElement(column === 0 ? "th" : "td");
  if (column === 0) {
    cell.setAttribute("scope", "row");
    cell.textContent = text;
  } else if (SIGNS.includes(text)) {
    cell.className = `sign ${text.replace(" ", "-")}`;
    cell.append(Object.assign(document.createElement("span"), { textContent: text }));
  } else {
    cell.append(/\d/.test(text) ? askedNumber(text, column === 2 ? href : "") : text);
  }
  return cell;
};

/**
 * Cells in the order of `windows_table` in tables.py.
 * @param {PairWords} pair
 * @param {string} window
 * @param {boolean} relative
 */
const cellTexts = ({ of, from, sign, gains }, window, relative) => [
  `${of} minus ${from}`, window, gains.torque ?? "",
  ...(relative ? [] : [gains.percent ?? "", gains.power ?? ""]),
  sign || "not decided", gains.check ?? "not possible",
];

/**
 * @param {HTMLTableElement} table
 * @param {string[][]} rows
 */
const fillRows = (table, rows) => {
  const body = table.querySelector("tbody.chosen") ?? document.createElement("tbody");
  body.className = "chosen";
  body.replaceChildren(...rows.map((texts) => {
    const row = document.createElement("tr");
    const href = originOf(texts[0]);
    row.append(...texts.map((text, column) => cellOf(text, column, href)));
    return row;
  }));
  if (!body.isConnected) table.tHead?.after(body);
};

/**
 * Mark the session's own rows of a window.
 * @param {HTMLTableElement} table
 * @param {string} window in words
 * @returns {boolean} whether there are any
 */
const markRows = (table, window) => {
  const rows = [...table.querySelectorAll("tbody:not(.chosen) tr")];
  const own = rows.filter((row) => row.querySelector("td")?.textContent === window);
  for (const row of rows) row.classList.toggle("is-chosen", own.includes(row));
  return own.length > 0;
};

/**
 * Write the rows of the chosen window into every table of a kind.
 * @param {string} kind
 * @param {[low: number, high: number]} window
 * @param {System} system of a page that shows one
 * @param {(named: string, system: System) => string[][]} rowsIn
 */
const drawKind = (kind, window, system, rowsIn) => {
  const words = windowWords(window);
  /** @type {NodeListOf<HTMLTableElement>} */
  const found = document.querySelectorAll(`table.${kind}`);
  for (const table of found) {
    fillRows(table, markRows(table, words) ? [] : rowsIn(`${words}, chosen`, systemAt(table, system)));
  }
};

/**
 * Write the rows of the chosen window.
 * @param {WindowTables} tables
 * @param {[low: number, high: number]} window
 * @param {System} system of a page that shows one
 */
export const drawRows = (tables, window, system) => drawKind("windows", window, system, (named, own) =>
  (gainWords(tables, window, own) ?? []).map((pair) => cellTexts(pair, named, tables.data.relative)));

/**
 * Write the rows of the chosen window with and without the pulls that were left out.
 * @param {WindowTables} tables
 * @param {import("./window-tables.js").Tables<import("./window-tables.js").CodedTables> | null} withAll
 * @param {[low: number, high: number]} window
 * @param {System} system of a page that shows one
 */
export const drawBoth = (tables, withAll, [low, high], system) => drawKind("left-out", [low, high], system, (named, own) =>
  (withAll?.data.pairs ?? []).flatMap(({ about, of, from }, number) => {
    const found = tables.gains(tables.data.pairs.findIndex((pair) => pair.about === about), low, high)?.torque;
    const kept = withAll?.gains(number, low, high)?.torque;
    if (!found) return [];
    return [[`${of} minus ${from}`, named, gainStated(tables, "torque", own, found),
      kept ? gainStated(tables, "torque", own, kept) : "not measured throughout"]];
  }));
