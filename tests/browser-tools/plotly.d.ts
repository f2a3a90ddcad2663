/** What pullbook calls of the chart library; the library ships no types of its own. */

/** A trace, a layout or a configuration as the library takes it: plain JSON. */
type PlotlyPart = Record<string, any>;

/** The element that a chart is drawn into, as the library extends it. */
interface PlotlyElement extends HTMLElement {
  data: PlotlyPart[];
  layout: PlotlyPart;
  _fullLayout: PlotlyPart;
  on(event: string, listener: (change: any) => void | boolean): void;
  removeAllListeners(event?: string): void;
}

interface PlotlyLibrary {
  newPlot(element: HTMLElement, data: PlotlyPart[], layout?: PlotlyPart, config?: PlotlyPart): Promise<PlotlyElement>;
  react(element: HTMLElement, data: PlotlyPart[], layout?: PlotlyPart, config?: PlotlyPart): Promise<PlotlyElement>;
  relayout(element: HTMLElement, changes: PlotlyPart): Promise<PlotlyElement>;
  restyle(element: HTMLElement, changes: PlotlyPart, traces?: number[]): Promise<PlotlyElement>;
  purge(element: HTMLElement): void;
  Plots: { resize(element: HTMLElement): Promise<void> };
}

declare const Plotly: PlotlyLibrary;

interface Window {
  Plotly?: PlotlyLibrary;
}
