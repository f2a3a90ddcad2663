// The working page: forms, live line, charts. Everything that it shows comes from the notebook and can be asked for
// again; nothing of the user's is kept here alone.

import { enliven, startCharts } from "../page/charts.js";
import { watchSections } from "../page/contents.js";
import { addressLoader } from "../page/loader.js";
import { startPrint } from "../page/print.js";
import { startFields } from "./fields.js";
import { startForms } from "./forms.js";
import { JobElement } from "./jobs.js";
import { connect } from "./live.js";
import { startDrops, UploadElement } from "./upload.js";

customElements.define("pullbook-job", JobElement);
customElements.define("pullbook-upload", UploadElement);
startFields();
startForms();
startDrops();
startPrint();
watchSections();
connect();

const library = document.querySelector("meta[name='pullbook-library']")?.getAttribute("content") ?? "";
/** The chart library is read when there is a chart and the pictures are on the screen. */
const startLibrary = () => {
  if (!document.querySelector("figure[data-interactive]") || document.documentElement.classList.contains("live")) return;
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => { void startCharts(addressLoader(library)); }, 0)));
};
addEventListener("load", startLibrary);
document.addEventListener("pullbook:changed", (event) => {
  const part = /** @type {HTMLElement} */ (event.target);
  if (document.documentElement.classList.contains("live")) enliven(part);
});
document.addEventListener("pullbook:refreshed", () => { watchSections(); startLibrary(); });
