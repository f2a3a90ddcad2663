// Figures as the chart library takes them, out of the small form in which they travel (packing.py).

/**
 * Whole numbers out of the changes of their changes; a gap stays a gap.
 * @param {(number | null)[]} turns
 * @returns {(number | null)[]}
 */
const unturned = (turns) => {
  let last = 0, change = 0;
  return turns.map((turn) => {
    if (turn === null) return null;
    change += turn;
    last += change;
    return last;
  });
};

/**
 * @param {number} number in units of the last digit
 * @param {number} decimals
 * @param {boolean} signed
 * @returns {string}
 */
const lastDigits = (number, decimals, signed) => {
  const sign = number < 0 ? "\u2212" : signed && number > 0 ? "+" : "";
  return sign + (Math.abs(number) / 10 ** decimals).toFixed(decimals);
};

/**
 * Texts out of their forms and numbers.
 * @param {{ forms: string[], runs: [number, number, number, number][], turns: number[][] }} words
 * @returns {string[]}
 */
const unworded = ({ forms, runs, turns }) => {
  let next = 0;
  return runs.flatMap(([form, decimals, signed, count]) => {
    const parts = forms[form].split("#");
    const columns = parts.slice(1).map(() => /** @type {number[]} */ (unturned(turns[next++])));
    return Array.from({ length: count }, (_, row) => parts.reduce((text, part, i) =>
      text + lastDigits(columns[i - 1][row], decimals, signed === 1) + part));
  });
};

/**
 * @param {PlotlyPart} trace
 * @returns {PlotlyPart}
 */
const unpackedTrace = (trace) => {
  if (!trace.y.turns) return trace;
  const { x, y, customdata } = trace;
  /** @type {PlotlyPart} */
  const made = {
    ...trace,
    x: Array.isArray(x) ? x : Array.from({ length: x.count }, (_, i) => x.first + i * x.step),
    y: unturned(y.turns).map((value) => (value === null ? null : value * y.step)),
  };
  if (customdata) made.customdata = Array.isArray(customdata) ? customdata : unworded(customdata);
  return made;
};

/** @type {WeakMap<PlotlyPart, PlotlyPart>} */
const opened = new WeakMap(); // a chart is drawn often

/**
 * The figure that was packed. Nobody changes it.
 * @param {PlotlyPart} figure
 * @returns {PlotlyPart}
 */
export const unpacked = (figure) => {
  const made = opened.get(figure) ?? { ...figure, data: figure.data.map(unpackedTrace) };
  opened.set(figure, made);
  return made;
};
