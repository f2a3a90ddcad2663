// The report: one file, opened from a disk, with everything in it.

import { redraw, startCharts } from "./charts.js";
import { watchSections } from "./contents.js";
import { pageLoader } from "./loader.js";
import { startOrigins } from "./origin.js";
import { startPrint } from "./print.js";
import { startUnits } from "./units.js";
import { startWindow } from "./window.js";

startUnits(redraw);
watchSections();
startPrint();
startOrigins();
// Two frames after loading, the pictures are on the screen; only then the library is read.
addEventListener("load", () => requestAnimationFrame(() => requestAnimationFrame(() => {
  const loader = pageLoader();
  void startWindow(loader);
  setTimeout(() => startCharts(loader), 0);
})));
