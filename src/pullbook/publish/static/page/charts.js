// Charts that come alive: each stands in the page as a picture and becomes one to hover over when it is near the
// screen and the chart library has been read.
//
// Hook for whatever is laid over charts of engine speed (as the rpm window is):
//
// 1. Every drawing of a chart over rpm says where its axis lies, in the same three attributes. Selector: [data-rpm].
//      data-rpm="2000 7000"       speeds at the ends of the rpm axis as it is drawn now [rpm]
//      data-area="54 774"         where these two ends are: left and right edge of the plot area
//      data-panels="12 362 420 567"   top and bottom of each panel from above, in turn; hidden panels have none
//    - On a picture, `svg.picture[data-rpm]`, the numbers are in units of its viewBox. Each panel is a
//      `g[data-panel]` in it, whose frame is a `rect.box`; put what shades the paper right after that frame.
//    - On a live chart, `div.plot[data-rpm]`, the numbers are CSS pixels from its upper left corner. The element is
//      `position: relative`; what is laid over it may be appended to it (it must not take pointer events that the
//      chart needs for hovering) and stays there when the chart is drawn again.
// 2. The event "pullbook:drawn" (it bubbles) is sent from the figure, `figure[data-chart]`, each time its live chart was
//    drawn: first, for another range of speed, width, theme, choice of builds or unit system. event.detail:
//      { key, plot, rpm: [low, high], area: [left, right], panels: [{ key, top, bottom }] }
//    with the numbers of point 1, panels by their key ("torque", "B-A").
// 3. `showRange([low, high] | null)` zooms all charts; `shownRange()` says to what.
// 4. Dragging across a chart zooms until `leaveDragging()` was called; from then on it is free for somebody else.

import { composed } from "./figure.js";
import { onTheme } from "./inks.js";
import { hiddenBuilds, startBuilds } from "./builds.js";
import { fieldsShow, startFields } from "./range.js";
import { unpacked } from "./unpack.js";

/**
 * @typedef {object} LiveChart
 * @property {string} key
 * @property {HTMLElement} figure
 * @property {PlotlyElement} plot
 * @property {number} width on the screen when it was drawn last, in pixels
 */

const AHEAD = "600px"; // a chart this far outside the screen is drawn already

/** @type {Map<HTMLElement, LiveChart>} */
const live = new Map();
/** @type {{ range: [number, number] | null, drags: boolean }} */
const view = { range: null, drags: true };
/** @type {import("./loader.js").Loader | null} */
let source = null;

/** Range of speed that all charts show; null for all of it. */
export const shownRange = () => view.range;

/**
 * Show a range of speed on all charts.
 * @param {[number, number] | null} range in rpm; null for all of it
 */
export const showRange = (range) => {
  view.range = range;
  fieldsShow(range);
  redraw();
};

/** Leave dragging across a chart to somebody else. */
export const leaveDragging = () => {
  view.drags = false;
  redraw();
};

/**
 * Say where the axis of engine speed lies now.
 * @param {LiveChart} chart
 */
const tell = ({ key, figure, plot }) => {
  const full = plot._fullLayout;
  const tenth = (/** @type {number} */ value) => Math.round(value * 10) / 10;
  if (!full?.xaxis) return;
  const rpm = /** @type {[number, number]} */ ([...full.xaxis.range]);
  const area = /** @type {[number, number]} */ (
    [full.xaxis._offset, full.xaxis._offset + full.xaxis._length].map(tenth));
  /** @type {{ key: string, top: number, bottom: number }[]} */
  const panels = JSON.parse(plot.dataset.keys ?? "[]").flatMap((/** @type {string} */ name, /** @type {number} */ i) => {
    const axis = full[i === 0 ? "yaxis" : `yaxis${i + 1}`];
    return axis?.visible ? [{ key: name, top: tenth(axis._offset), bottom: tenth(axis._offset + axis._length) }] : [];
  });
  plot.dataset.rpm = rpm.join(" ");
  plot.dataset.area = area.join(" ");
  plot.dataset.panels = panels.flatMap(({ top, bottom }) => [top, bottom]).join(" ");
  figure.dispatchEvent(new CustomEvent("pullbook:drawn", { bubbles: true, detail: { key, plot, rpm, area, panels } }));
};

/** @param {LiveChart} chart */
const draw = async (chart) => {
  const packed = await source?.chart(chart.figure);
  if (!packed || !chart.figure.isConnected) return false;
  chart.width = chart.figure.clientWidth;
  const drags = view.drags && !matchMedia("(pointer: coarse)").matches; // there, dragging has to scroll the page
  const spec = unpacked(packed);
  const { data, layout, config } = composed(spec, { width: chart.width, range: view.range, hidden: hiddenBuilds(), drags });
  chart.plot.style.height = `${layout.height}px`;
  chart.plot.dataset.keys = JSON.stringify(spec.panels.map((/** @type {PlotlyPart} */ panel) => panel.key));
  await Plotly.react(chart.plot, data, { ...layout, autosize: true }, config);
  return true;
};

/** Draw all live charts again. */
export const redraw = () => { for (const chart of live.values()) void draw(chart); };

/** @param {LiveChart} chart */
const listen = (chart) => {
  chart.plot.on("plotly_afterplot", () => tell(chart));
  chart.plot.on("plotly_relayout", (change) => {
    const low = change["xaxis.range[0]"], high = change["xaxis.range[1]"];
    if (low !== undefined) showRange([low, high]);
    else if (change["xaxis.autorange"] || change["xaxis.range"]) showRange(null);
  });
  chart.plot.on("plotly_doubleclick", () => { showRange(null); return false; });
  widths.observe(chart.figure);
  tell(chart);
};

/** @param {HTMLElement} figure */
const wake = async (figure) => {
  const plot = /** @type {PlotlyElement} */ (/** @type {HTMLElement} */ (document.createElement("div")));
  plot.className = "plot";
  plot.setAttribute("aria-hidden", "true"); // the picture with its text alternative stays for those who listen
  figure.querySelector(".pictures")?.after(plot);
  figure.classList.add("is-waking"); // both at once would push down whatever somebody reads below
  /** @type {LiveChart} */
  const chart = { key: figure.dataset.chart ?? "", figure, plot, width: 0 };
  const drawn = await draw(chart);
  figure.classList.remove("is-waking");
  if (!drawn) { plot.remove(); return; }
  live.set(figure, chart);
  figure.classList.add("is-live");
  listen(chart);
};

const widths = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    const chart = live.get(/** @type {HTMLElement} */ (target));
    if (chart && Math.abs(target.clientWidth - chart.width) >= 1) void draw(chart);
  }
});

const near = new IntersectionObserver((entries) => {
  for (const { isIntersecting, target } of entries) {
    if (!isIntersecting) continue;
    near.unobserve(target);
    void wake(/** @type {HTMLElement} */ (target));
  }
}, { rootMargin: AHEAD });

/** Give back what charts held that are no longer in the page. */
const dispose = () => {
  for (const [figure, chart] of live) {
    if (figure.isConnected) continue;
    widths.unobserve(figure);
    Plotly.purge(chart.plot);
    live.delete(figure);
  }
};

/**
 * Bring the charts in a part of the page to life; call it again for what was put in later. What was taken away is
 * disposed of.
 * @param {ParentNode} root
 */
export const enliven = (root) => {
  dispose();
  if (!source) return;
  startFields(root, showRange, view.range);
  startBuilds(root, redraw);
  /** @type {NodeListOf<HTMLElement>} */
  const figures = root.querySelectorAll("figure[data-interactive]");
  for (const figure of figures) if (!live.has(figure)) near.observe(figure);
};

/**
 * Read the chart library, then bring all charts of the page to life. Without the library the pictures stay.
 * @param {import("./loader.js").Loader} loader
 * @returns {Promise<boolean>} whether there is a library
 */
export const startCharts = async (loader) => {
  if (!(await loader.library())) return false;
  source = loader;
  document.documentElement.classList.add("live");
  onTheme(redraw);
  enliven(document);
  return true;
};
