// Files on their way: dropped on the page or on a build, or chosen; several at once, each with its own bar, each to be
// stopped, each with its own mistake. What was stored stays when another one fails.

import { currentToken, post, route, said } from "./api.js";
import { refresh } from "./fragments.js";

const AT_ONCE = 4;
const LOOK = 700; // ms between two looks at the page while many files come in

/**
 * @typedef {{ file: File, build: string, line: HTMLLIElement, request: XMLHttpRequest | null }} Item
 */

/** @type {Item[]} */
const queue = [];
/** @type {Set<Item>} */
const going = new Set();
/**
 * Those that are over and still have something to say.
 * @type {Set<Item>}
 */
const told = new Set();
let looked = 0;

/** Element around the place where files are dropped: <pullbook-upload>. */
export class UploadElement extends HTMLElement {
  connectedCallback() {
    const input = /** @type {HTMLInputElement | null} */ (this.querySelector("input[type=file]"));
    input?.addEventListener("change", () => { this.#take(input.files, this.#chosenBuild()); input.value = ""; });
    this.addEventListener("dragover", (event) => this.#over(event));
    this.addEventListener("dragleave", () => this.#light(null));
    this.addEventListener("drop", (event) => this.#dropped(event));
    const list = this.querySelector(".queue");
    for (const item of [...told, ...going, ...queue]) list?.append(item.line);
  }

  #chosenBuild() { return /** @type {HTMLSelectElement | null} */ (this.querySelector("#pick-build"))?.value ?? ""; }

  /** @param {Element | null} place */
  #light(place) {
    for (const lit of this.querySelectorAll(".is-over")) lit.classList.remove("is-over");
    place?.classList.add("is-over");
  }

  /** @param {DragEvent} event */
  #over(event) {
    event.preventDefault();
    this.#light(/** @type {Element} */ (event.target).closest("[data-drop]"));
  }

  /** @param {DragEvent} event */
  #dropped(event) {
    event.preventDefault();
    event.stopPropagation();
    const place = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("[data-drop]"));
    this.#light(null);
    this.#take(event.dataTransfer?.files ?? null, place?.dataset.drop || this.#chosenBuild());
  }

  /**
   * @param {FileList | null} files
   * @param {string} build
   */
  #take(files, build) { takeFiles([...(files ?? [])], build); }
}

/**
 * Send files, for a build or for none yet.
 * @param {File[]} files
 * @param {string} build
 */
export const takeFiles = (files, build) => {
  for (const file of files) queue.push({ file, build, line: lineOf(file), request: null });
  const list = document.querySelector("pullbook-upload .queue");
  for (const item of queue) list?.append(item.line);
  next();
};

/** @param {File} file */
const lineOf = (file) => {
  const line = document.createElement("li");
  const name = document.createElement("span");
  name.className = "file";
  name.textContent = file.name;
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.value = 0;
  bar.setAttribute("aria-label", `Sending ${file.name}`);
  const words = document.createElement("span");
  words.className = "doing";
  words.textContent = "waiting";
  const stop = document.createElement("button");
  stop.type = "button";
  stop.className = "small";
  stop.textContent = "Stop";
  stop.setAttribute("aria-label", `Stop sending ${file.name}`);
  stop.addEventListener("click", () => {
    const item = [...told, ...going, ...queue].find((one) => one.line === line);
    if (item) stopped(item);
    else line.remove();
  });
  line.append(name, " ", bar, " ", words, " ", stop);
  return line;
};

/** @param {Item} item */
const stopped = (item) => {
  const at = queue.indexOf(item);
  if (at >= 0) queue.splice(at, 1);
  item.request?.abort();
  going.delete(item);
  told.delete(item);
  item.line.remove();
  next();
};

const next = () => {
  while (going.size < AT_ONCE && queue.length) {
    const item = /** @type {Item} */ (queue.shift());
    going.add(item);
    void send(item);
  }
};

/**
 * @param {Item} item
 * @param {string} words
 * @param {boolean} wrong
 */
const tell = (item, words, wrong = false) => {
  const { line } = item;
  const said_ = line.querySelector(".doing");
  if (said_) { said_.textContent = words; said_.classList.toggle("wrong", wrong); }
  if (wrong) {
    told.add(item);
    line.querySelector("progress")?.remove();
    const stop = line.querySelector("button");
    if (stop) stop.textContent = "Put away";
  }
};

/**
 * @param {Item} item
 * @returns {Promise<{ status: number, body: any }>}
 */
const posted = (item) => new Promise((done) => {
  const request = new XMLHttpRequest();
  item.request = request;
  request.open("POST", `${route("/files")}?name=${encodeURIComponent(item.file.name)}`);
  request.setRequestHeader("X-Pullbook-Token", currentToken());
  request.setRequestHeader("Content-Type", "application/octet-stream");
  request.responseType = "json";
  request.upload.addEventListener("progress", (event) => {
    const bar = item.line.querySelector("progress");
    if (bar && event.total) bar.value = event.loaded / event.total;
  });
  request.addEventListener("loadend", () => done({ status: request.status, body: request.response }));
  request.send(item.file);
});

/** @param {Item} item */
const send = async (item) => {
  tell(item, "on its way");
  const { status, body } = await posted(item);
  if (!going.has(item)) return; // it was stopped
  if (status === 201) await arrived(item, body);
  else if (status === 0) tell(item, "The connection broke; send it again.", true);
  else tell(item, body ? said(body) : "It was not taken; send it again.", true);
  going.delete(item);
  next();
  await look(going.size === 0 && queue.length === 0);
};

/**
 * @param {Item} item
 * @param {any} stored
 */
const arrived = async (item, stored) => {
  if (item.build) {
    tell(item, "being read");
    const answer = await post(route("/assign"), { file: stored.name, build: item.build, which: 0 });
    if (!answer.ok) { tell(item, said(answer.mistake), true); return; }
  }
  if (!stored.already) { item.line.remove(); return; }
  tell(item, `${stored.says}.`);
  told.add(item);
  setTimeout(() => { told.delete(item); item.line.remove(); }, 8000);
};

/** @param {boolean} last */
const look = async (last) => {
  const now = performance.now();
  if (!last && now - looked < LOOK) return;
  looked = now;
  await refresh();
};

/** Files that are dropped beside the place for them are taken all the same, and never opened instead of the page. */
export const startDrops = () => {
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    if (document.querySelector("pullbook-upload")) takeFiles([...(event.dataTransfer?.files ?? [])], "");
  });
};
