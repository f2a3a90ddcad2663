// The chosen window on the charts of engine speed: shaded, with two handles, moved by dragging or by keys. The shade
// lies under the drawing and the handles over it; the drawing stays as it is.

import { digits, separated } from "./format.js";

/** @typedef {[low: number, high: number]} RpmWindow */

/**
 * What the shades need to know and whom they tell.
 * @typedef {object} ShadeHost
 * @property {() => RpmWindow} chosen
 * @property {number[]} ends speeds at which a window may begin and end
 * @property {(window: RpmWindow, settled: boolean) => void} choose
 */

/**
 * Where things are in a figure, in pixels from its upper left corner.
 * @typedef {object} Place
 * @property {[number, number]} rpm speeds at the ends of the axis
 * @property {[number, number]} area left and right end of the axis
 * @property {[number, number][]} panels top and bottom of each
 */

/**
 * @typedef {object} Shade
 * @property {HTMLElement} figure
 * @property {HTMLElement} under holds the areas
 * @property {HTMLElement} over holds the handles
 * @property {HTMLElement[]} areas one for each panel
 * @property {HTMLElement[]} handles of the lower and the upper end
 * @property {Place | null} place
 */

const FEWEST_PIXELS = 4; // a smaller movement is a click

/** @type {Map<Element, Shade>} */
const shades = new Map();
/** @type {ShadeHost | null} */
let host = null;

/** @param {string | undefined} text */
const numbersIn = (text) => (text ?? "").split(" ").map(Number);

/**
 * The drawing that a figure shows now.
 * @param {HTMLElement} figure
 * @returns {HTMLElement | SVGSVGElement | null}
 */
const drawingOf = (figure) => {
  /** @type {HTMLElement | null} */
  const plot = figure.querySelector(".plot[data-rpm]");
  /** @type {NodeListOf<SVGSVGElement>} */
  const pictures = figure.querySelectorAll("svg.picture[data-rpm]");
  return plot ?? [...pictures].find((picture) => picture.getClientRects().length > 0) ?? null;
};

/**
 * @param {HTMLElement} figure
 * @returns {Place | null}
 */
const placeOf = (figure) => {
  const drawing = drawingOf(figure);
  if (!drawing) return null;
  const box = drawing.getBoundingClientRect(), frame = figure.getBoundingClientRect();
  const scale = drawing instanceof SVGSVGElement ? box.width / (drawing.viewBox.baseVal.width || box.width) : 1;
  const { rpm, area, panels } = drawing.dataset;
  const edges = numbersIn(panels).map((edge) => box.top - frame.top + edge * scale);
  const [left, right] = numbersIn(area).map((edge) => box.left - frame.left + edge * scale);
  const [low, high] = numbersIn(rpm);
  if (!(high > low && right > left && edges.length > 1)) return null;
  return { rpm: [low, high], area: [left, right],
    panels: edges.flatMap((top, i) => (i % 2 === 0 ? [/** @type {[number, number]} */ ([top, edges[i + 1]])] : [])) };
};

/** @param {Place} place @param {number} rpm */
const acrossAt = ({ rpm: [low, high], area: [left, right] }, rpm) =>
  left + ((Math.min(Math.max(rpm, low), high) - low) / (high - low)) * (right - left);

/** @param {Place} place @param {number} across */
const rpmAt = ({ rpm: [low, high], area: [left, right] }, across) =>
  low + ((Math.min(Math.max(across, left), right) - left) / (right - left)) * (high - low);

/**
 * @param {number[]} ends
 * @param {number} rpm
 * @returns {number} the place of the nearest end
 */
export const nearestEnd = (ends, rpm) => ends.reduce((best, end, i) =>
  (Math.abs(end - rpm) < Math.abs(ends[best] - rpm) ? i : best), 0);

/**
 * The window with one end, or both, moved by some ends.
 * @param {number[]} ends
 * @param {RpmWindow} window
 * @param {"low" | "high" | "both"} which
 * @param {number} by
 * @returns {RpmWindow}
 */
export const movedBy = (ends, [low, high], which, by) => {
  const from = nearestEnd(ends, low), to = nearestEnd(ends, high), last = ends.length - 1;
  if (which === "low") return [ends[Math.min(Math.max(from + by, 0), to - 1)], high];
  if (which === "high") return [low, ends[Math.max(Math.min(to + by, last), from + 1)]];
  const step = Math.min(Math.max(by, -from), last - to);
  return [ends[from + step], ends[to + step]];
};

/** @param {Shade} shade */
const drawShade = (shade) => {
  const { place, under, over, areas, handles } = shade;
  under.hidden = over.hidden = !host || !place;
  if (!host || !place) return;
  const window = host.chosen();
  const [left, right] = window.map((rpm) => acrossAt(place, rpm));
  while (areas.length < place.panels.length) areas.push(addPart(under, "window-area"));
  areas.forEach((area, i) => {
    area.hidden = i >= place.panels.length || right <= left;
    if (area.hidden) return;
    const [top, bottom] = place.panels[i];
    Object.assign(area.style, { left: `${left}px`, width: `${right - left}px`, top: `${top}px`, height: `${bottom - top}px` });
  });
  const top = place.panels[0][0], bottom = place.panels[place.panels.length - 1][1];
  handles.forEach((handle, i) => {
    const rpm = window[i];
    handle.hidden = rpm < place.rpm[0] || rpm > place.rpm[1];
    Object.assign(handle.style, { left: `${i === 0 ? left : right}px`, top: `${top}px`, height: `${bottom - top}px` });
    handle.setAttribute("aria-valuenow", String(rpm));
    handle.setAttribute("aria-valuetext", `${separated(digits(rpm, 0))} rpm`);
  });
};

/**
 * @param {HTMLElement} parent
 * @param {string} name
 */
const addPart = (parent, name) => {
  const part = document.createElement("div");
  part.className = name;
  parent.append(part);
  return part;
};

/** @type {Record<string, number>} */
const KEY_STEPS = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -5, PageUp: 5, Home: -1e4, End: 1e4 };

/**
 * @param {HTMLElement} over
 * @param {"low" | "high"} which
 */
const addHandle = (over, which) => {
  const handle = addPart(over, `window-handle ${which}`);
  handle.dataset.which = which;
  const about = {
    role: "slider", tabindex: "0", "aria-label": `${which === "low" ? "Lower" : "Upper"} end of the window`,
    "aria-valuemin": String(host?.ends[0]), "aria-valuemax": String(host?.ends[host.ends.length - 1]),
  };
  for (const [name, value] of Object.entries(about)) handle.setAttribute(name, value);
  handle.addEventListener("keydown", (event) => {
    const by = KEY_STEPS[event.key];
    if (!host || by === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    host.choose(movedBy(host.ends, host.chosen(), event.shiftKey ? "both" : which, by), true);
  });
  return handle;
};

/**
 * What dragging does that begins at a place: the window follows.
 * @param {Place} place
 * @param {number} across where it began
 * @param {string | undefined} which handle, if on one
 * @returns {(rpm: number) => RpmWindow}
 */
const dragFrom = (place, across, which) => {
  const { ends, chosen } = /** @type {ShadeHost} */ (host);
  const [low, high] = chosen(), began = rpmAt(place, across);
  /** @type {(one: number, other: number) => RpmWindow} */
  const between = (one, other) => {
    const [from, to] = [one, other].sort((a, b) => a - b).map((rpm) => nearestEnd(ends, rpm));
    return from < to ? [ends[from], ends[to]] : movedBy(ends, [ends[from], ends[to]], to < ends.length - 1 ? "high" : "low", 0);
  };
  if (which === "low") return (rpm) => between(rpm, high);
  if (which === "high") return (rpm) => between(low, rpm);
  const inside = acrossAt(place, low) < across && across < acrossAt(place, high);
  if (!inside) return (rpm) => between(began, rpm);
  return (rpm) => movedBy(ends, [low, high], "both", nearestEnd(ends, low + rpm - began) - nearestEnd(ends, low));
};

/**
 * @param {Shade} shade
 * @param {PointerEvent} event
 */
const beginDrag = (shade, event) => {
  const place = placeOf(shade.figure);
  const target = /** @type {HTMLElement} */ (event.target);
  if (!host || !place || event.button !== 0 || !event.isPrimary || target.closest("a,button,input,summary,table")) return;
  const frame = shade.figure.getBoundingClientRect();
  const across = event.clientX - frame.left, down = event.clientY - frame.top;
  const which = /** @type {HTMLElement | null} */ (target.closest(".window-handle"))?.dataset.which;
  const [left, right] = place.area;
  if (!which && (across < left || across > right || !place.panels.some(([top, bottom]) => down >= top && down <= bottom))) return;
  const follow = dragFrom(place, across, which), before = host.chosen();
  let moved = false;
  /** @param {PointerEvent} move */
  const onMove = (move) => {
    if (move.pointerId !== event.pointerId || (!moved && Math.abs(move.clientX - event.clientX) < FEWEST_PIXELS)) return;
    if (!moved) shade.figure.setPointerCapture(event.pointerId);
    moved = true;
    host?.choose(follow(rpmAt(place, move.clientX - frame.left)), false);
  };
  /** @param {PointerEvent} end */
  const onEnd = (end) => {
    if (end.pointerId !== event.pointerId) return;
    removeEventListener("pointermove", onMove);
    removeEventListener("pointerup", onEnd);
    removeEventListener("pointercancel", onEnd);
    if (moved) host?.choose(end.type === "pointercancel" ? before : host.chosen(), true);
  };
  addEventListener("pointermove", onMove);
  addEventListener("pointerup", onEnd);
  addEventListener("pointercancel", onEnd);
};

const sizes = new ResizeObserver((entries) => entries.forEach(({ target }) => placeAgain(target)));

/** @param {Element} figure */
const placeAgain = (figure) => {
  const shade = shades.get(figure);
  if (!shade) return;
  shade.place = placeOf(shade.figure);
  drawShade(shade);
};

/** @param {HTMLElement} figure */
const addShade = (figure) => {
  const under = addPart(figure, "window-layer under"), over = addPart(figure, "window-layer over");
  const handles = [addHandle(over, "low"), addHandle(over, "high")];
  /** @type {Shade} */
  const shade = { figure, under, over, areas: [], handles, place: placeOf(figure) };
  shades.set(figure, shade);
  figure.classList.add("is-windowed");
  figure.addEventListener("pointerdown", (event) => beginDrag(shade, event), true);
  figure.addEventListener("pullbook:drawn", () => placeAgain(figure));
  sizes.observe(figure);
  drawShade(shade);
};

/** Draw the window on all charts again. */
export const drawShades = () => shades.forEach(drawShade);

/**
 * Lay the window over all charts of engine speed; call it again when charts were put in or taken away. The handles on
 * the first chart can be reached by Tab; those on the others do the same.
 * @param {ShadeHost} whom
 */
export const layShades = (whom) => {
  host = whom;
  for (const [figure] of shades) {
    if (figure.isConnected) continue;
    sizes.unobserve(figure);
    shades.delete(figure);
  }
  /** @type {NodeListOf<HTMLElement>} */
  const figures = document.querySelectorAll("figure[data-chart]");
  [...figures].filter((figure) => figure.querySelector("[data-rpm]")).forEach((figure, i) => {
    if (!shades.has(figure)) addShade(figure);
    const shade = /** @type {Shade} */ (shades.get(figure));
    if (i > 0) shade.over.setAttribute("aria-hidden", "true");
    else shade.over.removeAttribute("aria-hidden");
    for (const handle of shade.handles) handle.tabIndex = i > 0 ? -1 : 0;
  });
  drawShades();
};
