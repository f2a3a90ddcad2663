// A job on the page: how far it is, in words and as a bar; stop it, run it again. Who listens hears of
// its beginning, in words of its own where it has some, and of its end.

import { post, remove, said } from "./api.js";
import { refresh } from "./fragments.js";
import { announce } from "./told.js";

/**
 * @typedef {import("./api.js").Mistake} Mistake
 * @typedef {{ id: string, kind: string, state: string, doing: string, done: number, total: number, error: Mistake | null }} JobState
 */

const OVER = new Set(["done", "failed", "cancelled", "died"]);
/**
 * What the jobs are called whose beginning was told and whose end was not.
 * @type {Map<string, string>}
 */
const begun = new Map();

/** Element of one job: <pullbook-job job="ID" state="running">, around a p.doing and a progress. */
export class JobElement extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", this);
    const id = this.getAttribute("job") ?? "", name = this.querySelector("progress")?.getAttribute("aria-label");
    if (!name || begun.has(id)) return;
    begun.set(id, name);
    announce(this.dataset.begins ?? `${name}.`);
  }

  disconnectedCallback() { this.removeEventListener("click", this); }

  /** @param {Event} event */
  handleEvent(event) {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("button"));
    if (button?.dataset.cancel) void this.#ask(() => remove(`/api/jobs/${button.dataset.cancel}`), button);
    if (button?.dataset.retry) void this.#ask(() => post(`/api/jobs/${button.dataset.retry}/retry`, {}), button);
  }

  /**
   * @param {() => Promise<import("./api.js").Answer>} ask
   * @param {HTMLElement} button
   */
  async #ask(ask, button) {
    button.setAttribute("aria-disabled", "true");
    const answer = await ask();
    button.removeAttribute("aria-disabled");
    const words = this.querySelector(".doing") ?? document.getElementById("news");
    if (!answer.ok && words) words.textContent = said(answer.mistake);
    await refresh();
  }

  /** @param {JobState} job */
  show(job) {
    this.setAttribute("state", job.state);
    const words = this.querySelector(".doing");
    const bar = this.querySelector("progress");
    if (words && job.doing) words.textContent = job.doing;
    if (bar && job.total > 1) { bar.max = job.total; bar.value = job.done; }
  }
}

/**
 * Tell once how a job ended whose beginning was told.
 * @param {JobState} job
 */
const tellEnd = (job) => {
  const name = begun.get(job.id);
  if (name === undefined || !OVER.has(job.state)) return;
  begun.delete(job.id);
  announce(job.error ? said(job.error) : `${name}: ${job.state === "done" ? "done" : "stopped"}.`);
};

/**
 * Show the state of a job where the page has it.
 * @param {JobState} job
 * @returns {boolean} whether the page has to be asked for again
 */
export const showJob = (job) => {
  /** @type {NodeListOf<JobElement>} */
  const shown = document.querySelectorAll(`pullbook-job[job="${CSS.escape(job.id)}"]`);
  for (const element of shown) element.show(job);
  tellEnd(job);
  return OVER.has(job.state) || shown.length === 0;
};
