// Labels at the ends of the curves, moved apart so that none lies on another.

/**
 * Places as near as can be to those wanted, in the same order, at least a gap apart (pool adjacent violators, as
 * `spread` in ticks.py).
 * @param {number[]} wanted
 * @param {number} gap
 * @param {number} low
 * @param {number} high
 * @returns {number[]}
 */
export const spread = (wanted, gap, low, high) => {
  const count = wanted.length;
  const apart = count > 1 ? Math.min(gap, (high - low) / (count - 1)) : gap;
  const order = wanted.map((_, i) => i).sort((a, b) => wanted[a] - wanted[b]);
  /** @type {[number, number][]} */
  const pools = [];
  order.forEach((index, place) => {
    pools.push([wanted[index] - place * apart, 1]);
    while (pools.length > 1 && pools[pools.length - 2][0] > pools[pools.length - 1][0]) {
      const [mean, size] = pools[pools.length - 1];
      const [before, number] = pools[pools.length - 2];
      pools.splice(-2, 2, [(before * number + mean * size) / (number + size), number + size]);
    }
  });
  const flat = pools.flatMap(([mean, size]) => /** @type {number[]} */ (Array(size).fill(mean)));
  const top = high - (count - 1) * apart;
  /** @type {number[]} */
  const placed = [];
  order.forEach((index, place) => { placed[index] = Math.min(Math.max(flat[place], low), top) + place * apart; });
  return placed;
};

/**
 * Height of a curve at a place between its points; null in a gap.
 * @param {PlotlyPart} trace
 * @param {number} x
 * @returns {number | null}
 */
export const valueAt = (trace, x) => {
  let at = trace.x.findIndex((/** @type {number} */ value) => value >= x);
  if (at < 0) at = trace.x.length - 1;
  if (at === 0 || trace.x[at] === x) return trace.y[at];
  const [x0, x1, y0, y1] = [trace.x[at - 1], trace.x[at], trace.y[at - 1], trace.y[at]];
  return y0 === null || y1 === null ? null : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
};
