// A figure as it is drawn now: for the width, the range of speed, the builds and the theme of this moment.

import { inked } from "./inks.js";
import { spread, valueAt } from "./labels.js";

/**
 * What the reader looks at.
 * @typedef {object} View
 * @property {number} width of the figure on the screen, in pixels
 * @property {[number, number] | null} range of engine speed in rpm; null for all of it
 * @property {Set<string>} hidden names of builds that are not shown
 * @property {boolean} drags dragging across a chart zooms
 */

const NARROW = 620;
const LABEL_GAP = 17;
const LABEL_EDGE = 7;
const LETTER = 7.5; // mean width of a letter of a marker's label, on the safe side

/** @param {number} index */
const axisName = (index) => (index === 0 ? "yaxis" : `yaxis${index + 1}`);

/**
 * @param {PlotlyPart} layout
 * @param {View} view
 */
const setRangeOf = (layout, view) => {
  const range = view.range ?? layout.xaxis.range;
  layout.xaxis.range = [...range];
  if (!view.range) return;
  delete layout.xaxis.tickvals; // the ticks of the whole range are too few for a part of it
  delete layout.xaxis.ticktext;
  delete layout.xaxis.minor.tickvals;
  Object.assign(layout.xaxis, { nticks: view.width < NARROW ? 4 : 7, tickformat: "," });
};

/**
 * Give every visible panel its part of the height; what belongs to a hidden build takes none.
 * @param {PlotlyPart} figure
 * @param {View} view
 * @returns {Record<string, [number, number]>} part of each visible panel, by its key
 */
const stacked = (figure, view) => {
  const { layout, panels, gap } = figure;
  const tall = figure.panel * (view.width < NARROW ? 0.72 : 1);
  const shown = panels.filter((/** @type {PlotlyPart} */ panel) =>
    panel.builds.length !== 2 || !panel.builds.some((/** @type {string} */ name) => view.hidden.has(name)));
  const height = shown.reduce((/** @type {number} */ sum, /** @type {PlotlyPart} */ panel) =>
    sum + tall * panel.weight + gap, -gap);
  layout.height = height + layout.margin.t + layout.margin.b;
  /** @type {Record<string, [number, number]>} */
  const domains = {};
  let below = 0;
  for (const panel of [...panels].reverse()) {
    const axis = layout[axisName(panels.indexOf(panel))];
    if (!shown.includes(panel)) {
      Object.assign(axis, { visible: false, domain: [0, 0.001] });
      continue;
    }
    domains[panel.key] = [below / height, Math.min((below + tall * panel.weight) / height, 1)];
    axis.domain = domains[panel.key];
    below += tall * panel.weight + gap;
  }
  const last = panels.indexOf(shown[shown.length - 1]);
  layout.xaxis.anchor = last === 0 ? "y" : `y${last + 1}`;
  return domains;
};

/**
 * Hide what belongs to hidden builds, and the labels of markers that have no room: a sentence says them too.
 * @param {PlotlyPart} figure
 * @param {View} view
 */
const showTraces = (figure, view) => {
  /** @type {Record<string, [number, number][]>} */
  const taken = {};
  for (const trace of figure.data) {
    const { meta } = trace;
    trace.visible = !meta.builds.some((/** @type {string} */ name) => view.hidden.has(name));
    if (meta.part !== "marker" || !trace.visible || trace.mode === "markers") continue;
    taken[meta.panel] ??= [];
    const place = view.width < NARROW ? null : markerLabelPlace(trace, figure.layout, view, taken[meta.panel]);
    if (!place) trace.mode = "markers";
    else trace.textposition = place;
  }
};

/**
 * The side of a marker where its label lies inside the panel and on no other label, which it then takes.
 * @param {PlotlyPart} trace
 * @param {PlotlyPart} layout
 * @param {View} view
 * @param {[number, number][]} taken
 * @returns {string | null}
 */
const markerLabelPlace = (trace, layout, view, taken) => {
  const { margin, xaxis } = layout;
  const across = view.width - margin.l - margin.r;
  const at = ((trace.x[0] - xaxis.range[0]) / (xaxis.range[1] - xaxis.range[0])) * across;
  const wide = trace.text[0].length * LETTER + LABEL_EDGE;
  const sides = trace.textposition === "top left" ? ["top left", "top right"] : ["top right", "top left"];
  for (const side of sides) {
    const [left, right] = side === "top left" ? [at - wide, at] : [at, at + wide];
    if (left < 0 || right > across || taken.some(([from, to]) => left < to && from < right)) continue;
    taken.push([left, right]);
    return side;
  }
  return null;
};

/**
 * Titles of the panels in their places, and the labels whose curves are shown, each with its curve.
 * @param {PlotlyPart} figure
 * @param {View} view
 * @param {Record<string, [number, number]>} domains
 * @returns {Map<PlotlyPart, PlotlyPart>} the trace of each label
 */
const placeNotes = (figure, view, domains) => {
  const { layout, panels } = figure;
  const narrow = view.width < NARROW;
  /** @type {Map<PlotlyPart, PlotlyPart>} */
  const labels = new Map();
  layout.annotations = layout.annotations.filter((/** @type {PlotlyPart} */ note) => {
    const [kind, key, line] = JSON.parse(note.name);
    if (kind === "axis") return true;
    if (!(key in domains)) return false;
    if (kind === "title") {
      Object.assign(note, { y: domains[key][1], xshift: 4 - layout.margin.l });
      const panel = panels.find((/** @type {PlotlyPart} */ one) => one.key === key);
      if (narrow) Object.assign(note, { text: panel.narrow, align: "left", yshift: 11 });
      return true;
    }
    const trace = figure.data.find((/** @type {PlotlyPart} */ one) =>
      one.meta.panel === key && one.meta.key === line && one.meta.part === "line");
    labels.set(note, trace);
    return trace.visible;
  });
  return labels;
};

/**
 * Move the labels of a panel apart, and lead to each by a piece of its own line.
 * @param {PlotlyPart} figure
 * @param {number} index of the panel
 * @param {View} view
 * @param {Map<PlotlyPart, PlotlyPart>} labels
 */
const placeLabels = (figure, index, view, labels) => {
  const { layout } = figure;
  const panel = figure.panels[index], axis = layout[axisName(index)];
  const narrow = view.width < NARROW, end = layout.xaxis.range[1];
  const tall = figure.panel * (narrow ? 0.72 : 1) * panel.weight;
  const perUnit = tall / (axis.range[1] - axis.range[0]);
  const own = layout.annotations.filter((/** @type {PlotlyPart} */ note) => labels.get(note)?.meta.panel === panel.key);
  for (const note of own) if (narrow) note.text = `<b>${note.hovertext}</b>`;
  /** @type {{ note: PlotlyPart, line: PlotlyPart, at: number }[]} */
  const known = own.flatMap((/** @type {PlotlyPart} */ note) => {
    const trace = /** @type {PlotlyPart} */ (labels.get(note)), at = valueAt(trace, end);
    return at === null ? [] : [{ note, line: trace.line, at }];
  });
  const wanted = known.map(({ at }) => (axis.range[1] - at) * perUnit);
  spread(wanted, LABEL_GAP, LABEL_EDGE, tall - LABEL_EDGE).forEach((place, i) => {
    const { note, line, at } = known[i];
    Object.assign(note, { y: axis.range[1] - place / perUnit, xshift: narrow ? 18 : 40 });
    layout.shapes.push({
      type: "path", path: `M0 ${at}L8 ${note.y}L${narrow ? 16 : 36} ${note.y}`, xref: "paper", xsizemode: "pixel",
      xanchor: 1, yref: note.yref, line: { color: line.color, dash: line.dash, width: 1.8 },
    });
  });
};

/**
 * The figure to be drawn.
 * @param {PlotlyPart} spec as `plotly_figure` makes it
 * @param {View} view
 * @returns {PlotlyPart} with data, layout and config as the chart library takes them
 */
export const composed = (spec, view) => {
  const figure = inked(spec);
  const { layout, panels } = figure;
  if (view.width < NARROW) Object.assign(layout.margin, { l: 44, r: 60 });
  layout.dragmode = view.drags ? "zoom" : false;
  setRangeOf(layout, view);
  const domains = stacked(figure, view);
  showTraces(figure, view);
  const labels = placeNotes(figure, view, domains);
  panels.forEach((/** @type {PlotlyPart} */ _panel, /** @type {number} */ index) => {
    placeLabels(figure, index, view, labels);
  });
  for (const note of layout.annotations) delete note.hovertext;
  layout.shapes = layout.shapes.filter((/** @type {PlotlyPart} */ shape) => {
    const index = shape.yref === "y" ? 0 : Number(shape.yref.slice(1)) - 1;
    return panels[index].key in domains;
  });
  return figure;
};
