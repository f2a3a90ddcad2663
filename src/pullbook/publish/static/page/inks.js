// Colours: "ink:build-1/0.2" in a figure becomes the colour of the theme that the reader sees.

/**
 * @param {string} token
 * @param {CSSStyleDeclaration} style
 * @returns {string}
 */
const inkColour = (token, style) => {
  const [name, alpha] = token.slice(4).split("/");
  const hex = style.getPropertyValue(`--${name}`).trim();
  if (alpha === undefined) return hex;
  const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
  return `rgba(${r},${g},${b},${alpha})`;
};

/**
 * @param {any} value
 * @param {CSSStyleDeclaration} style
 * @returns {any}
 */
const inkedWith = (value, style) => {
  if (typeof value === "string") return value.startsWith("ink:") ? inkColour(value, style) : value;
  if (Array.isArray(value)) return typeof value[0] === "number" ? [...value] : value.map((part) => inkedWith(part, style));
  if (value && typeof value === "object") {
    return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, inkedWith(part, style)]));
  }
  return value;
};

/**
 * A copy of a figure with the colours of the theme of this moment.
 * @param {PlotlyPart} figure
 * @returns {PlotlyPart}
 */
export const inked = (figure) => inkedWith(figure, getComputedStyle(document.documentElement));

/**
 * Tell when the reader's theme changes.
 * @param {() => void} changed
 */
export const onTheme = (changed) => matchMedia("(prefers-color-scheme: dark)").addEventListener("change", changed);
