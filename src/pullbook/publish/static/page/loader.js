// Where the charts and the chart library come from. A report carries both at its end; a page of the server names an
// address for each. Both are asked in the same way.

import { unitSystem } from "./units.js";

/**
 * @typedef {object} Loader
 * @property {() => Promise<boolean>} library make the chart library known; false where it cannot be had
 * @property {(figure: HTMLElement) => Promise<PlotlyPart | null>} chart data of a figure; null where it has none
 * @property {() => Promise<import("./window-tables.js").WindowData | null>} windows tables of all windows; null where
 *   there are none
 * @property {() => Promise<import("./window-tables.js").CodedTables | null>} windowsWithAll the same with every pull kept
 */

/**
 * @param {string} address
 * @returns {Promise<any>} null where there is nothing
 */
const fetched = async (address) => {
  try {
    const answer = await fetch(address);
    return answer.ok ? await answer.json() : null;
  } catch {
    return null; // what is in the page stays
  }
};

/** @param {HTMLScriptElement} script */
const addScript = (script) => { document.head.append(script); };

/**
 * Charts and library out of the page itself: `#chart-data` holds {chart: {metric, us}} or {chart: figure}, and
 * `#chart-library` the library as plain text, so that the page is on the screen before it is read; `#window-data`
 * holds the tables of all windows, `#window-data-with-all` those with every pull kept.
 * @returns {Loader}
 */
export const pageLoader = () => {
  /** @type {Record<string, PlotlyPart> | null} */
  let data = null;
  /** @param {string} id */
  const read = (id) => JSON.parse(document.getElementById(id)?.textContent ?? "null");
  return {
    async library() {
      if (!window.Plotly) {
        const script = document.createElement("script");
        script.textContent = document.getElementById("chart-library")?.textContent ?? "";
        addScript(script);
      }
      return window.Plotly !== undefined;
    },
    async chart(figure) {
      data ??= /** @type {Record<string, PlotlyPart>} */ (read("chart-data") ?? {});
      const found = data[figure.dataset.chart ?? ""];
      return found?.[unitSystem()] ?? found ?? null;
    },
    async windows() { return read("window-data"); },
    async windowsWithAll() { return read("window-data-with-all"); },
  };
};

/**
 * Charts and library from the server. The address of a chart is `data-source` of its figure, or `data-charts` of an
 * element around it with the key of the chart and ".json" added. That of the tables of all windows is `data-windows` of
 * an element of the page, that of those with every pull kept `data-windows-with-all`.
 * @param {string} library address of the chart library
 * @returns {Loader}
 */
export const addressLoader = (library) => {
  /** @type {Promise<boolean> | null} */
  let loading = null;
  /** @type {WeakMap<HTMLElement, { address: string, data: PlotlyPart }>} */
  const known = new WeakMap(); // a chart is drawn often and asked for once
  /** @param {"windows" | "windowsWithAll"} name */
  const named = async (name) => {
    const address = [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-windows],[data-windows-with-all]"))]
      .map(({ dataset }) => dataset[name]).find(Boolean);
    return address ? fetched(address) : null;
  };
  return {
    library() {
      loading ??= new Promise((done) => {
        const script = document.createElement("script");
        script.src = library;
        script.addEventListener("load", () => done(window.Plotly !== undefined));
        script.addEventListener("error", () => { loading = null; script.remove(); done(false); });
        addScript(script);
      });
      return loading;
    },
    async chart(figure) {
      const around = /** @type {HTMLElement | null} */ (figure.closest("[data-charts]"))?.dataset.charts;
      const address = figure.dataset.source ?? (around === undefined ? "" : `${around}${figure.dataset.chart}.json`);
      const before = known.get(figure);
      if (!address || before?.address === address) return before?.data ?? null;
      const data = await fetched(address);
      if (data) known.set(figure, { address, data });
      return data;
    },
    windows: () => named("windows"),
    windowsWithAll: () => named("windowsWithAll"),
  };
};
