// Numbers as the sentences of the page write them: no more digits than the doubt allows. The same rules as in
// rounding.py, figures.py and typeset.py, digit for digit.

/**
 * What a number is in.
 * @typedef {object} Measure
 * @property {string} symbol unit that the reader sees
 * @property {number} factor size of that unit, in the unit of the number
 */

/**
 * A number with the ends of its interval, which are NaN where no doubt can be stated.
 * @typedef {object} Interval
 * @property {number} value
 * @property {number} low
 * @property {number} high
 */

/**
 * Digits of a number, halves rounded away from zero; what is rounded is the shortest decimal of the number.
 * @param {number} value
 * @param {number} decimals after the point; negative to round to tens, hundreds and so on
 * @param {boolean} [signed] write the plus
 * @returns {string}
 */
export const digits = (value, decimals, signed = false) => {
  if (!Number.isFinite(value)) return Number.isNaN(value) ? "not known" : value > 0 ? "inf" : "-inf";
  const [mantissa, power] = Math.abs(value).toExponential().split("e");
  const all = mantissa.replace(".", "");
  const kept = Number(power) + decimals + 1;
  let whole = kept > 0 ? BigInt(all.slice(0, kept).padEnd(kept, "0")) : 0n;
  if (kept >= 0 && (all[kept] ?? "0") >= "5") whole += 1n;
  if (whole === 0n) return decimals > 0 ? `0.${"0".repeat(decimals)}` : "0";
  const sign = value < 0 ? "-" : signed ? "+" : "";
  if (decimals <= 0) return `${sign}${whole}${"0".repeat(-decimals)}`;
  const text = String(whole).padStart(decimals + 1, "0");
  return `${sign}${text.slice(0, -decimals)}.${text.slice(-decimals)}`;
};

/**
 * Decimals that keep two significant digits of a half-width.
 * @param {number} half
 * @returns {number}
 */
export const places = (half) => 1 - Number(half.toExponential(1).split("e")[1]);

/** @param {number} half */
const isDoubt = (half) => Number.isFinite(half) && half > 0;

/**
 * Digits of a number with two significant digits of its half-width; three of its own where there is none.
 * @param {number} value
 * @param {number} half
 * @param {boolean} [signed]
 * @returns {string}
 */
export const rounded = (value, half, signed = false) => {
  if (isDoubt(half)) return digits(value, places(half), signed);
  if (Number.isNaN(value)) return "not known";
  const size = value && Number.isFinite(value) ? Math.floor(Math.log10(Math.abs(value))) : 0;
  return digits(value, 2 - size, signed);
};

/**
 * Digits with a comma between the thousands of the whole part.
 * @param {string} number
 * @returns {string}
 */
export const separated = (number) => {
  const [whole, ...rest] = number.split(".");
  return [whole.replace(/\d{4,}/, (found) => found.replace(/\B(?=(\d{3})+$)/g, ",")), ...rest].join(".");
};

/**
 * A number with its doubt and unit, as in "-11.5 ± 2.1 N m"; "±" where the interval is symmetric to the digits shown.
 * @param {Measure} measure
 * @param {Interval} interval
 * @param {boolean} [signed] a gain is written with its plus
 * @returns {string}
 */
export const stated = ({ symbol, factor }, interval, signed = false) => {
  const [value, low, high] = [interval.value, interval.low, interval.high].map((number) => number / factor);
  const half = (high - low) / 2;
  const shown = separated(rounded(value, half, signed));
  if (!isDoubt(half)) return `${shown} ${symbol}`;
  const [below, above] = [value - low, high - value].map((side) => rounded(side, half));
  if (below === above) return `${shown} ± ${separated(above)} ${symbol}`;
  const ends = [low, high].map((end) => separated(rounded(end, half, signed)));
  return `${shown} ${symbol} (${ends.join(" to ")})`;
};

/**
 * Range of engine speed between two whole numbers, as in "2,400 to 3,400 rpm".
 * @param {number} low
 * @param {number} high
 * @returns {string}
 */
export const rpmRange = (low, high) => `${separated(digits(low, 0))} to ${separated(digits(high, 0))} rpm`;

/**
 * Plain text with a true minus before numbers, and number and unit kept on one line.
 * @param {string} text
 * @returns {string}
 */
export const typeset = (text) => text
  .replace(/(^|[^\w.])-(?=\d)/g, "$1\u2212")
  .replace(/(\d) (?=(?:N m|kW|hp|lb ft|rpm|%|kg m|K|°)(?:[^\w]|$))/g, "$1\u00a0")
  .replaceAll("N m", "N\u00a0m").replaceAll("lb ft", "lb\u00a0ft").replaceAll(" ± ", "\u00a0±\u00a0");
