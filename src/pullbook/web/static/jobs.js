// A job on the page: how far it is, in words and as a bar; stop it, run it again.

import { post, remove, said } from "./api.js";
import { refresh } from "./fragments.js";

/**
 * @typedef {{ id: string, kind: string, state: string, doing: string, done: number, total: number }} JobState
 */

const OVER = new Set(["done", "failed", "cancelled", "died"]);

/** Element of one job: <pullbook-job job="ID" state="running">, around a p.doing and a progress. */
export class JobElement extends HTMLElement {
  connectedCallback() { this.addEventListener("click", this); }

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
    const words = this.querySelector(".doing");
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
 * Show the state of a job where the page has it.
 * @param {JobState} job
 * @returns {boolean} whether the page has to be asked for again
 */
export const showJob = (job) => {
  /** @type {NodeListOf<JobElement>} */
  const shown = document.querySelectorAll(`pullbook-job[job="${CSS.escape(job.id)}"]`);
  for (const element of shown) element.show(job);
  return OVER.has(job.state) || shown.length === 0;
};
