// The line under the charts: the chosen window, in fields that can be typed into, and what every pair gains over it.

import { askedNumber, gainWords, originOf, windowWords } from "./window-words.js";

/** @typedef {[low: number, high: number]} RpmWindow */

/**
 * @typedef {object} BarHost
 * @property {import("./window-tables.js").WindowTables} tables
 * @property {(window: RpmWindow) => void} choose
 * @property {(window: RpmWindow) => void} zoom
 */

/**
 * @typedef {object} WindowBar
 * @property {BarHost} host
 * @property {HTMLElement} element
 * @property {HTMLInputElement[]} fields
 * @property {HTMLElement} list
 * @property {HTMLElement} status
 */

/** @type {WindowBar | null} */
let bar = null;

/**
 * @param {string} tag
 * @param {string} name
 * @param {string} [text]
 */
const piece = (tag, name, text = "") => {
  const made = document.createElement(tag);
  if (name) made.className = name;
  made.textContent = text;
  return made;
};

/**
 * @param {string} name
 * @param {number[]} ends
 */
const rpmField = (name, ends) => {
  const field = document.createElement("input");
  const step = ends.length > 2 ? ends[2] - ends[1] : 50;
  const about = { type: "number", inputmode: "numeric", step: String(step), min: String(Math.floor(ends[0] / step) * step),
    max: String(ends[ends.length - 1]), "aria-label": `${name} end of the window, rpm` };
  for (const [key, value] of Object.entries(about)) field.setAttribute(key, value);
  return field;
};

/**
 * How far apart the speeds are at which a window may begin and end; the two ends of the range need not be round.
 * @param {import("./window-tables.js").WindowTables} tables
 */
const stepWords = ({ data }) => {
  const steps = data.stretches.flatMap(({ ends }) => (ends.length > 2 ? [ends[2] - ends[1]] : []));
  return steps.length ? `in steps of ${[...new Set(steps)].sort((a, b) => a - b).join(" or ")}` : "";
};

/**
 * @param {BarHost} host
 * @returns {WindowBar}
 */
const makeBar = (host) => {
  const { tables, choose, zoom } = host;
  const element = piece("div", "window-bar");
  element.setAttribute("role", "region");
  element.setAttribute("aria-label", "Mean gains over the chosen window");
  const form = document.createElement("form");
  form.className = "window-fields";
  const fields = [rpmField("Lower", tables.ends), rpmField("Upper", tables.ends)];
  const button = /** @type {HTMLButtonElement} */ (piece("button", "live-only", "Zoom"));
  button.type = "button";
  form.append(piece("span", "window-name", "Window"), fields[0], piece("span", "", "to"), fields[1],
    piece("span", "", "rpm"), piece("span", "window-step", stepWords(tables)), button);
  const list = piece("ul", "window-gains");
  list.setAttribute("aria-label", "Mean gains of every pair");
  const status = piece("p", "window-status");
  status.setAttribute("role", "status");
  element.append(form, list, status);
  const typed = () => fields.map((field) => (field.value === "" ? NaN : Number(field.value)));
  const take = () => { const [low, high] = typed(); choose([Math.min(low, high), Math.max(low, high)]); };
  form.addEventListener("change", take);
  form.addEventListener("submit", (event) => { event.preventDefault(); take(); });
  button.addEventListener("click", () => { const [low, high] = typed(); zoom([low, high]); });
  return { host, element, fields, list, status };
};

/**
 * Put the line under the charts, if there are charts; call it again when the page was put in anew.
 * @param {BarHost} host
 */
export const layBar = (host) => {
  const section = [...document.querySelectorAll("figure[data-chart]")]
    .find((figure) => figure.querySelector("[data-rpm]"))?.closest("section");
  if (bar?.element.isConnected && bar.host.tables === host.tables) return;
  bar?.element.remove();
  bar = section ? makeBar(host) : null;
  if (bar) section?.append(bar.element);
};

/** Whoever has no pointer scrolls the list by keys, where it has to be scrolled. */
const reachList = () => {
  if (!bar) return;
  if (bar.list.scrollWidth > bar.list.clientWidth) bar.list.tabIndex = 0;
  else bar.list.removeAttribute("tabindex");
};

/** @param {import("./window-words.js").PairWords} pair */
const pairItem = ({ of, from, sign, gains }) => {
  const item = piece("li", "");
  const shown = piece("span", `sign ${sign.replace(" ", "-")}`);
  if (sign) shown.append(piece("span", "only-heard", `${sign}: `));
  const torque = piece("strong", "");
  torque.append(askedNumber(gains.torque ?? "", originOf(`${of} minus ${from}`)));
  shown.append(torque);
  item.append(piece("b", "", `${of} \u2212 ${from}`), shown);
  const more = piece("span", "more");
  const rest = [gains.percent, gains.power].flatMap((text) => (text === undefined ? [] : [askedNumber(text)]));
  more.append(...rest.flatMap((number, i) => (i === 0 ? [number] : [", ", number])));
  if (rest.length) item.append(more);
  return item;
};

/**
 * Say the window and the gains of the pairs whose builds are shown.
 * @param {import("./window-tables.js").WindowTables} tables
 * @param {RpmWindow} window
 * @param {"metric" | "us"} system
 * @param {Set<string>} hidden names of builds that are not shown
 * @param {boolean} settled nothing moves any more, so that it may be read aloud
 */
export const drawBar = (tables, window, system, hidden, settled) => {
  if (!bar) return;
  const words = gainWords(tables, window, system)?.filter(({ of, from }) => !hidden.has(of) && !hidden.has(from));
  bar.fields.forEach((field, i) => { field.value = field.defaultValue = String(window[i]); });
  const refused = "Not measured throughout: a pull has a gap in this window.";
  bar.list.replaceChildren(...(words ? words.map(pairItem) : [piece("li", "refused", refused)]));
  if (!settled) return;
  requestAnimationFrame(reachList);
  const said = words?.map(({ of, from, gains }) => `${of} minus ${from} ${gains.torque}`).join("; ") ?? refused;
  bar.status.textContent = `${windowWords(window)}: ${said}`;
};
