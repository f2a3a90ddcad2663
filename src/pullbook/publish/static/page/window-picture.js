// The chosen window in the picture of mean gains: a row more in each panel, or a mark on the session's own row. The
// picture stays what it is: what the screen shows is a copy of it, and paper shows the picture.

import { digits, separated, typeset } from "./format.js";
import { gainStated, signOf, systemAt, windowWords } from "./window-words.js";

/** @typedef {import("./window-tables.js").WindowTables} WindowTables */
/** @typedef {import("./format.js").Interval} Interval */
/** @typedef {{ left: number, right: number, top: number, bottom: number }} Frame */
/** @typedef {{ low: number, high: number, step: number, grown: boolean, at: (value: number) => number }} Scale */

const AIR = 0.06; // beyond the longest interval, as `nice_range` in ticks.py
const MOST_STEPS = 8;
const PAUSE = 150; // without a movement, in ms
const LETTER_SHARE = 0.61; // mean width of a letter, in text sizes

/**
 * @param {Element} parent
 * @param {string} tag
 * @param {Record<string, string | number>} about
 * @param {string} [text]
 */
const addMark = (parent, tag, about, text = "") => {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(about)) made.setAttribute(name, String(value));
  made.textContent = text;
  parent.append(made);
  return made;
};

/** @param {Element} part @param {string} name */
const numberOf = (part, name) => Number(part.getAttribute(name));

/** @param {Element} group @returns {Frame} */
const frameOf = (group) => {
  const box = /** @type {Element} */ (group.querySelector(".box"));
  const left = numberOf(box, "x"), top = numberOf(box, "y");
  return { left, right: left + numberOf(box, "width"), top, bottom: top + numberOf(box, "height") };
};

/** @param {number} step of labels */
const decimalsOf = (step) => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));

/**
 * The axis of the picture, grown where a gain lies beyond it.
 * @param {number[]} axis its ends and the step of its labels
 * @param {Interval[]} gains
 * @param {Frame} frame
 * @param {number} size of the text
 * @returns {Scale}
 */
const scaleFor = ([first, last, fine], gains, { left, right }, size) => {
  const reach = gains.flatMap((gain) => Object.values(gain)).filter(Number.isFinite);
  const least = Math.min(first, ...reach), most = Math.max(last, ...reach), air = AIR * (most - least);
  const low = least < first ? least - air : first, high = most > last ? most + air : last;
  const letters = 1 + Math.max(...[low, high, fine].map((end) => digits(end, decimalsOf(fine), true).length));
  let step = fine;
  while ((high - low) / step > MOST_STEPS || ((right - left) * step) / (high - low) < letters * LETTER_SHARE * size) step *= 2;
  return { low, high, step, grown: low < first || high > last,
    at: (value) => left + ((value - low) / (high - low)) * (right - left) };
};

/** @param {Scale} scale @param {number} step */
const ticksOf = ({ low, high }, step) => {
  const first = Math.ceil(low / step - 1e-9), last = Math.floor(high / step + 1e-9);
  return Array.from({ length: last - first + 1 }, (_, n) => (first + n) * step);
};

/**
 * Rule the panel anew, and move what stands in it to where it belongs on the grown axis.
 * @param {Element} group
 * @param {Frame} frame
 * @param {number[]} axis as it was
 * @param {Scale} scale
 */
const growAxis = (group, { left, right }, [first, last], scale) => {
  /** @param {number} across */
  const moved = (across) => scale.at(first + ((across - left) / (right - left)) * (last - first));
  for (const path of group.querySelectorAll("path.whisker")) {
    path.setAttribute("d", (path.getAttribute("d") ?? "").replace(/([MH])(-?[\d.]+)/g, (_, to, x) => to + moved(Number(x))));
  }
  for (const bar of group.querySelectorAll("rect.bar,rect.hollowbar")) {
    const start = moved(numberOf(bar, "x")), end = moved(numberOf(bar, "x") + numberOf(bar, "width"));
    bar.setAttribute("x", String(start));
    bar.setAttribute("width", String(end - start));
  }
  for (const dot of group.querySelectorAll("circle")) dot.setAttribute("cx", String(moved(numberOf(dot, "cx"))));
  const labels = [...group.querySelectorAll("text[text-anchor=middle]")];
  if (!labels.length) return;
  const decimals = decimalsOf(scale.step);
  for (const value of ticksOf(scale, scale.step)) {
    const about = { x: scale.at(value), y: numberOf(labels[0], "y"), class: "tick", "text-anchor": "middle" };
    addMark(group, "text", about, typeset(separated(digits(value, decimals, true))));
  }
  for (const label of labels) label.remove();
};

/** @param {Element} group @param {Frame} frame @param {Scale} scale */
const ruleAnew = (group, { top, bottom }, scale) => {
  /** @param {number[]} values */
  const lines = (values) => values.map((value) => `M${scale.at(value)} ${top}V${bottom}`).join("");
  for (const [name, values] of /** @type {[string, number[]][]} */ ([
    ["g1", ticksOf(scale, scale.step / 5)], ["g2", ticksOf(scale, scale.step)], ["rule", [0]],
  ])) group.querySelector(`path.${name}`)?.setAttribute("d", lines(values));
  const box = group.querySelector(".box");
  box?.setAttribute("y", String(top));
  box?.setAttribute("height", String(bottom - top));
};

/**
 * A gain drawn as those of the session's own windows are (svg_marks.py).
 * @param {Element} group
 * @param {Scale} scale
 * @param {number} y
 * @param {Interval} gain
 */
const drawGain = (group, { at }, y, gain) => {
  const sign = signOf(gain), isOpen = !["gains", "gives up"].includes(sign);
  const [zero, end] = [at(0), at(gain.value)];
  const css = isOpen ? "hollowbar" : `bar f-${sign === "gains" ? "gain" : "loss"}`;
  addMark(group, "rect", { x: Math.min(zero, end), y: y - 7, width: Math.abs(end - zero), height: 14, class: css });
  if (Number.isFinite(gain.low)) {
    const [low, high] = [at(gain.low), at(gain.high)];
    const d = `M${low} ${y}H${high}M${low} ${y - 5}V${y + 5}M${high} ${y - 5}V${y + 5}`;
    addMark(group, "path", { d, class: "whisker s-ink" });
  }
  addMark(group, "circle", { cx: end, cy: y, r: 4.5, class: isOpen ? "ring s-open" : "dot f-ink" });
};

/**
 * @typedef {object} Chosen
 * @property {string} words of the window
 * @property {Map<string, { pair: string, gain: Interval, told: string }>} gains of each pair, in the unit of the picture
 */

/**
 * A copy of a picture with the chosen window in it.
 * @param {SVGSVGElement} picture
 * @param {Chosen} chosen
 */
const copyWith = (picture, { words, gains }) => {
  const copy = /** @type {SVGSVGElement} */ (picture.cloneNode(true));
  copy.classList.add("chosen");
  for (const part of copy.querySelectorAll("[id]")) part.id += "-c";
  copy.setAttribute("aria-labelledby", (picture.getAttribute("aria-labelledby") ?? "").replace(/\S+/g, "$&-c"));
  const axis = (picture.dataset.gains ?? "").split(" ").map(Number), size = numberOf(picture, "font-size");
  /** @type {NodeListOf<SVGGElement>} */
  const groups = copy.querySelectorAll("g[data-panel]");
  const wide = copy.viewBox.baseVal.width, scale = scaleFor(axis, [...gains.values()].map(({ gain }) => gain), frameOf(groups[0]), size);
  let down = 0;
  for (const group of groups) {
    const frame = frameOf(group), found = gains.get(group.dataset.panel ?? "");
    const row = (frame.bottom - frame.top) / (group.querySelectorAll("circle").length + 0.2);
    const own = [...group.querySelectorAll("text[text-anchor=end]")].find(({ textContent }) => textContent === words);
    const y = own ? numberOf(own, "y") - size * 0.35 : frame.top - 0.4 * row;
    if (!own) {
      down += row;
      frame.top -= row;
      for (const title of group.querySelectorAll("text.axis")) title.setAttribute("transform", `translate(0 ${-row})`);
    }
    if (scale.grown) growAxis(group, frame, axis, scale);
    if (scale.grown || !own) ruleAnew(group, frame, scale);
    group.setAttribute("transform", `translate(0 ${down})`);
    const band = addMark(group, "rect", { x: 0, y: y - row / 2, width: wide, height: row, class: "chosen-row" });
    group.prepend(band);
    if (own || !found) continue;
    drawGain(group, scale, y, found.gain);
    addMark(group, "text", { x: frame.left - 8, y: y + size * 0.35, class: "tick", "text-anchor": "end" }, words);
    addMark(group, "text", { x: frame.right + 8, y: y + 4.5 }, found.told);
  }
  const said = [...gains.values()].map(({ pair, told }) => `${pair} ${told}`).join("; ");
  addMark(/** @type {Element} */ (copy.querySelector("desc")), "tspan", {}, ` Chosen: ${words}: ${said}.`);
  copy.setAttribute("viewBox", `0 0 ${wide} ${copy.viewBox.baseVal.height + down}`);
  return copy;
};

/**
 * The gains of a window in the unit of a picture; null where there is no mean.
 * @param {WindowTables} tables
 * @param {[low: number, high: number]} window
 * @param {import("./window-words.js").System} system
 * @returns {Chosen | null}
 */
const chosenIn = (tables, [low, high], system) => {
  const [, factor] = tables.data.measures.torque[system];
  /** @type {Chosen["gains"]} */
  const gains = new Map();
  for (const [number, { about, of, from }] of tables.data.pairs.entries()) {
    const found = tables.gains(number, low, high)?.torque;
    if (!found) return null;
    const gain = { value: found.value / factor, low: found.low / factor, high: found.high / factor };
    gains.set(about, { pair: `${of} minus ${from}`, gain, told: gainStated(tables, "torque", system, found) });
  }
  return { words: windowWords([low, high]), gains };
};

/** @type {number | undefined} */
let later;

/** @param {Element} picture @returns {Element | null} the copy that is shown in its place */
const copyOf = ({ nextElementSibling: next }) => (next?.classList.contains("chosen") ? next : null);

/** @param {Element} picture */
const isSeen = (picture) => {
  const { top, bottom, width } = (copyOf(picture) ?? picture).getBoundingClientRect();
  return width > 0 && bottom > 0 && top < innerHeight;
};

/**
 * Show the chosen window in the pictures of mean gains: at once where somebody sees it, in the others when nothing moves
 * any more.
 * @param {WindowTables} tables
 * @param {[low: number, high: number]} window
 * @param {import("./window-words.js").System} system of a page that shows one
 */
export const drawPictures = (tables, window, system) => {
  /** @type {NodeListOf<SVGSVGElement>} */
  const pictures = document.querySelectorAll("svg.picture[data-gains]:not(.chosen)");
  /** @param {SVGSVGElement} picture */
  const draw = (picture) => {
    const chosen = chosenIn(tables, window, systemAt(picture, system));
    copyOf(picture)?.remove();
    picture.parentElement?.classList.toggle("with-chosen", chosen !== null);
    if (chosen) picture.after(copyWith(picture, chosen));
  };
  const seen = [...pictures].filter(isSeen); // all are looked at before one is changed
  seen.forEach(draw);
  clearTimeout(later);
  later = setTimeout(() => [...pictures].filter((picture) => !seen.includes(picture)).forEach(draw), PAUSE);
};
