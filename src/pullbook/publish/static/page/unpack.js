// Figures as the chart library takes them, out of the form in which they travel.

/**
 * @param {PlotlyPart} packed
 * @returns {PlotlyPart}
 */
export const unpacked = (packed) => packed;
