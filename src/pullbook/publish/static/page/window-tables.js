// Mean gains over every window, out of the form in which they travel (window_data.py).

/** @typedef {import("./format.js").Interval} Interval */

/**
 * @typedef {[unit: number, letters: string]} Coded
 * @typedef {"torque" | "percent" | "power" | "check"} Quantity
 */

/**
 * Curves and half-widths of one pair in one run of speeds.
 * @typedef {object} CodedStretch
 * @property {Coded} [gain]
 * @property {Coded} [base]
 * @property {Coded} [torque] integral at the ends, where there is no curve
 * @property {Coded} [check]
 * @property {Partial<Record<Quantity, Coded | number | null>>} halves
 * @property {Partial<Record<Quantity, [number, number, number | null][]>>} odd
 */

/**
 * @typedef {object} CodedTables
 * @property {{ grid?: [first: number, step: number, count: number], ends: number[], check?: Coded | null }[]} stretches
 * @property {{ about: string, of: string, from: string, stretches: CodedStretch[] }[]} pairs
 */

/**
 * What the server sends.
 * @typedef {object} WindowFacts
 * @property {string} schema
 * @property {number} confidence
 * @property {boolean} relative
 * @property {Record<"torque" | "power" | "percent", Record<"metric" | "us", [symbol: string, size: number]>>} measures
 * @property {[number, number] | null} start
 *
 * @typedef {WindowFacts & CodedTables} WindowData
 */

/**
 * Numbers of one window of one pair; a quantity that the session does not have is absent.
 * @typedef {Partial<Record<Quantity, Interval>>} Gains
 */

/**
 * @typedef {object} Stretch
 * @property {number[]} ends
 * @property {Record<Quantity, number[]>} integrals from the first end to each
 * @property {number[]} bases the same of what the gain is on
 * @property {Partial<Record<Quantity, number[] | null>>} halves of each window
 * @property {Partial<Record<Quantity, Map<number, [number, number]>>>} odd
 */

/**
 * @template {CodedTables} Data
 * @typedef {object} Tables
 * @property {Data} data
 * @property {number[]} ends speeds at which a window may begin and end
 * @property {(low: number, high: number) => boolean} possible whether both ends lie in one run of speeds
 * @property {(pair: number, low: number, high: number) => Gains | null} gains null where there is no mean
 */

/** @typedef {Tables<WindowData>} WindowTables */

const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
const LETTER_VALUES = new Map([...LETTERS].map((letter, value) => [letter, value]));

/**
 * Whole numbers out of letters, five bits in each.
 * @param {string} text
 * @returns {number[]}
 */
const wholeNumbers = (text) => {
  /** @type {number[]} */
  const found = [];
  let value = 0, weight = 1;
  for (const letter of text) {
    const at = LETTER_VALUES.get(letter) ?? 0;
    value += (at % 32) * weight;
    weight *= 32;
    if (at >= 32) continue;
    found.push(value % 2 ? -Math.floor(value / 2) : value / 2);
    value = 0;
    weight = 1;
  }
  return found;
};

/**
 * A curve out of its fourth differences.
 * @param {Coded} coded
 * @returns {number[]}
 */
const codedCurve = ([unit, text]) => {
  const values = wholeNumbers(text);
  for (let order = 0; order < 4; order += 1) {
    for (let i = 1; i < values.length; i += 1) values[i] += values[i - 1];
  }
  return values.map((value) => value * unit);
};

/**
 * Numbers of all windows, by lower end, then by upper end; each is expected to change as that before it did.
 * @param {Coded | null | undefined} coded
 * @param {number} count of ends
 * @returns {number[] | null}
 */
const codedWindows = (coded, count) => {
  if (!coded) return null;
  const steps = wholeNumbers(coded[1]);
  /** @type {number[]} */
  const above = Array(count).fill(0), found = [];
  for (let low = 0; low < count - 1; low += 1) {
    let change = 0;
    for (let high = low + 1; high < count; high += 1) {
      change += steps[found.length];
      above[high] += change;
      found.push(above[high] * coded[0]);
    }
  }
  return found;
};

/**
 * Integrals of the straight lines between even speeds, at some of them.
 * @param {number[]} values
 * @param {number} step
 * @param {number[]} at
 * @returns {number[]}
 */
const integralsAt = (values, step, at) => {
  let sum = 0;
  const all = values.map((value, i) => (i === 0 ? 0 : (sum += 0.5 * step * (value + values[i - 1]))));
  return at.map((place) => all[place]);
};

/**
 * Half-widths: those of the checks are the same for all pairs but for a factor, those of the power go with the torque.
 * @param {CodedTables["stretches"][number]} where
 * @param {CodedStretch} coded
 * @returns {Stretch["halves"]}
 */
const readHalves = ({ ends, check }, coded) => {
  /** @type {Stretch["halves"]} */
  const made = {};
  for (const [name, one] of Object.entries(coded.halves)) {
    made[/** @type {Quantity} */ (name)] = typeof one === "number"
      ? codedWindows(check, ends.length)?.map((half) => one * half) : codedWindows(one, ends.length);
  }
  const { torque, power } = made;
  if (torque && power) {
    const sums = ends.flatMap((low, i) => ends.slice(i + 1).map((high) => low + high));
    made.power = power.map((share, place) => share * torque[place] * sums[place]);
  }
  return made;
};

/**
 * @param {CodedTables["stretches"][number]} where
 * @param {CodedStretch} coded
 * @returns {Stretch}
 */
const readStretch = (where, coded) => {
  const { ends, grid: [first, step, count] = [0, 1, 0] } = where;
  const at = ends.map((end) => Math.round((end - first) / step));
  const [gain, base, check, alone] = [coded.gain, coded.base, coded.check, coded.torque]
    .map((one) => (one ? codedCurve(one) : []));
  const levered = gain.map((value, i) => value * (first + i * step) * (Math.PI / 30));
  const torque = coded.torque ? alone : integralsAt(gain, step, at);
  if (torque.length !== ends.length || gain.length !== count) throw new Error("the tables of windows are not whole");
  /** @type {Stretch} */
  const made = {
    ends, bases: integralsAt(base, step, at), halves: readHalves(where, coded), odd: {},
    integrals: { torque, percent: torque, power: integralsAt(levered, step, at), check },
  };
  for (const [name, rows] of Object.entries(coded.odd)) {
    made.odd[/** @type {Quantity} */ (name)] = new Map(rows.map(([place, value, half]) => [place, [value, half ?? NaN]]));
  }
  return made;
};

/**
 * @param {Stretch} stretch
 * @param {number} low place of the lower end
 * @param {number} high place of the upper end
 * @returns {Gains}
 */
const gainsOf = (stretch, low, high) => {
  const count = stretch.ends.length;
  const place = low * count - (low * (low + 1)) / 2 + high - low - 1;
  const width = stretch.ends[high] - stretch.ends[low];
  /** @type {Gains} */
  const found = {};
  for (const name of /** @type {Quantity[]} */ (Object.keys(stretch.halves))) {
    const own = stretch.integrals[name];
    const mean = (own[high] - own[low]) / width;
    const share = (stretch.bases[high] - stretch.bases[low]) / width;
    const exact = stretch.odd[name]?.get(place);
    const value = exact ? exact[0] : name === "percent" ? (100 * mean) / share : mean;
    const half = exact ? exact[1] : stretch.halves[name]?.[place] ?? NaN;
    found[name] = { value, low: value - half, high: value + half };
  }
  return found;
};

/**
 * Tables to look windows up in.
 * @template {CodedTables} Data
 * @param {Data} data
 * @returns {Tables<Data>}
 */
export const readWindows = (data) => {
  const pairs = data.pairs.map((pair) => pair.stretches.map((coded, i) => readStretch(data.stretches[i], coded)));
  /** @param {number} low @param {number} high */
  const stretchOf = (low, high) => data.stretches.findIndex(({ ends }) => ends.includes(low) && ends.includes(high));
  return {
    data,
    ends: data.stretches.flatMap(({ ends }) => ends),
    possible: (low, high) => low < high && stretchOf(low, high) >= 0,
    gains(pair, low, high) {
      const at = stretchOf(low, high);
      if (at < 0 || low >= high) return null;
      const { ends } = data.stretches[at];
      return gainsOf(pairs[pair][at], ends.indexOf(low), ends.indexOf(high));
    },
  };
};
