// The working page: forms, live line, charts. Everything that it shows comes from the notebook and can be asked for
// again; nothing of the user's is kept here alone.

import { enliven, startCharts } from "../page/charts.js";
import { watchSections } from "../page/contents.js";
import { addressLoader } from "../page/loader.js";
import { startOrigins } from "../page/origin.js";
import { startPrint } from "../page/print.js";
import { chosenWindow, layWindow, startWindow } from "../page/window.js";
import { startEngine } from "./engine.js";
import { startFields } from "./fields.js";
import { startForms } from "./forms.js";
import { JobElement } from "./jobs.js";
import { startParts } from "./fragments.js";
import { connect } from "./live.js";
import { startDrops, UploadElement } from "./upload.js";

customElements.define("pullbook-job", JobElement);
customElements.define("pullbook-upload", UploadElement);
startFields();
startForms();
startEngine();
startDrops();
startParts();
startPrint();
startOrigins();
watchSections();
connect();

const loader = addressLoader(document.querySelector("meta[name='pullbook-library']")?.getAttribute("content") ?? "");
/** The chart library is read when there is a chart and the pictures are on the screen. */
const startLibrary = () => {
  if (!document.querySelector("figure[data-interactive]") || document.documentElement.classList.contains("live")) return;
  requestAnimationFrame(() => setTimeout(() => { void startCharts(loader); }, 0));
};
/** While findings are on their way there is time to read the library; the first charts are alive at once then. */
const readAhead = () => {
  if (!document.querySelector("#findings-pending progress")) return;
  setTimeout(() => { void loader.library(); }, 0);
};
/** The window that the reader chose stands in the address, so that a reload shows the same. */
const keepWindow = () => {
  const chosen = chosenWindow(), address = new URL(location.href);
  if (!chosen) return;
  address.searchParams.set("window", chosen.join("-"));
  history.replaceState(history.state, "", address);
};
let windowChosen = false;
document.addEventListener("pullbook:window", (event) => {
  if (!/** @type {CustomEvent} */ (event).detail.settled) return;
  windowChosen = true;
  keepWindow();
});

/** @type {string | undefined} */
let windows;
/** The tables of all windows are those of the findings that are shown. */
const followWindow = () => {
  const address = /** @type {HTMLElement | null} */ (document.querySelector("[data-windows]"))?.dataset.windows;
  if (address === windows) { layWindow(); return; }
  windows = address;
  void startWindow(loader);
};

startLibrary(); // after a frame, when the pictures are on the screen
readAhead();
followWindow();
document.addEventListener("pullbook:changed", (event) => {
  const part = /** @type {HTMLElement} */ (event.target);
  if (document.documentElement.classList.contains("live")) enliven(part);
  followWindow();
});
document.addEventListener("pullbook:refreshed", () => {
  watchSections();
  startLibrary();
  readAhead();
  if (windowChosen) keepWindow();
});
