// Files on their way: dropped on the page or on a build, or chosen; several at once, each with its own bar, each to be
// stopped, each with its own mistake. What was stored stays when another one fails.

import { currentToken, freshToken, post, route, said } from "./api.js";
import { filesChosen, filesDropped, leftOut } from "./folders.js";
import { refresh, refreshSoon } from "./fragments.js";
import { announce } from "./told.js";
import { UploadLine } from "./upload-line.js";

const AT_ONCE = 5;
const PASSING = new Set([0, 403, 408, 429]); // answers after which the same file may be taken when it is sent again

/**
 * @typedef {import("./folders.js").Heap} Heap
 * @typedef {{ file: File, build: string, line: UploadLine, request: XMLHttpRequest | null }} Item
 */

/** @type {Item[]} */
const queue = [];
/** @type {Set<Item>} */
const going = new Set();
/**
 * Those that are over and still have something to say, and whether it is a mistake.
 * @type {Map<Item, boolean>}
 */
const told = new Map();
/**
 * What became of the files since none was on its way.
 * @type {{ arrived: number, words: string[], leftOut: string }}
 */
const batch = { arrived: 0, words: [], leftOut: "" };

/**
 * Those that are to be pulls of a build, in the order in which they were handed over: so they come into the run order,
 * whichever of them is sent and read first.
 * @type {Item[]}
 */
const inLine = [];
/** @type {Set<() => void>} */
const turns = new Set();

/**
 * Builds of files that cannot be read before a question about their columns is answered.
 * @type {Map<string, string>}
 */
const wanted = new Map();

/** Give the files that were dropped on a build to it, now that a question was answered. */
export const giveWanted = async () => {
  for (const [file, build] of wanted)
    if ((await post(route("/assign"), { file, build, which: 0 })).ok) wanted.delete(file);
};

/** Element around the place where files are dropped: <pullbook-upload>. */
export class UploadElement extends HTMLElement {
  connectedCallback() {
    for (const input of /** @type {NodeListOf<HTMLInputElement>} */ (this.querySelectorAll("input[type=file]")))
      input.addEventListener("change", () => { takeFiles(filesChosen([...(input.files ?? [])]), chosenBuild()); input.value = ""; });
    sayLeftOut(batch.leftOut);
    this.addEventListener("dragover", (event) => this.#light(carriesFiles(event) ? placeOf(event) : null));
    this.addEventListener("dragleave", () => this.#light(null));
    this.addEventListener("drop", () => this.#light(null));
    const list = this.querySelector(".queue");
    for (const item of [...told.keys(), ...going, ...queue]) list?.append(item.line.element);
  }

  /** @param {Element | null} place */
  #light(place) {
    for (const lit of this.querySelectorAll(".is-over")) lit.classList.remove("is-over");
    place?.classList.add("is-over");
  }
}

/** @param {DragEvent} event */
const carriesFiles = (event) => event.dataTransfer?.types.includes("Files") ?? false;

/** @param {DragEvent} event */
const placeOf = (event) => /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest?.("[data-drop]") ?? null);

const chosenBuild = () => /** @type {HTMLSelectElement | null} */ (document.getElementById("pick-build"))?.value ?? "";

/** @param {number} count */
const files = (count) => (count === 1 ? "1 file" : `${count} files`);

/** @param {string} words */
const sayLeftOut = (words) => {
  batch.leftOut = words;
  const told = document.querySelector("pullbook-upload .left-out");
  if (told) told.textContent = words;
};

/**
 * Send files, for a build or for none yet.
 * @param {Heap} heap
 * @param {string} build
 */
export const takeFiles = (heap, build) => {
  const left = leftOut(heap);
  sayLeftOut(heap.files.length ? left : left || "There is no file in it.");
  if (!heap.files.length) { announce(batch.leftOut); return; }
  for (const [item, isWrong] of told) if (!isWrong) putAway(item); // what was said of earlier ones makes room
  if (going.size + queue.length === 0) Object.assign(batch, { arrived: 0, words: [] });
  const list = document.querySelector("pullbook-upload .queue");
  for (const { file, path } of heap.files) {
    /** @type {Item} */
    const item = {
      file, build, request: null,
      line: new UploadLine(path, { away: () => putAway(item), again: () => sendAgain(item) }),
    };
    queue.push(item);
    if (build) inLine.push(item);
    list?.append(item.line.element);
  }
  announce([`${files(going.size + queue.length)} ${going.size + queue.length === 1 ? "is" : "are"} on the way.`, left].filter(Boolean).join(" "));
  startNext();
};

/** @param {Item} item */
const putAway = (item) => {
  const at = queue.indexOf(item);
  if (at >= 0) queue.splice(at, 1);
  const was = going.delete(item);
  item.request?.abort();
  leaveLine(item);
  told.delete(item);
  focusBeside(item.line.element);
  item.line.element.remove();
  startNext();
  if (was || at >= 0) tellEnd();
};

/**
 * Whoever puts lines away by keyboard goes on with the next one.
 * @param {HTMLElement} line
 */
const focusBeside = (line) => {
  if (!line.contains(document.activeElement)) return;
  const beside = line.nextElementSibling ?? line.previousElementSibling;
  /** @type {HTMLElement | null} */ (beside?.querySelector("button") ?? document.getElementById("pick-files"))?.focus();
};

/** @param {Item} item */
const sendAgain = (item) => {
  if (!told.delete(item)) return;
  if (going.size + queue.length === 0) Object.assign(batch, { arrived: 0, words: [] });
  item.line.wait();
  item.line.stop.focus();
  queue.push(item);
  startNext();
};

/**
 * Until those that were handed over before are over.
 * @param {Item} item
 * @returns {Promise<void>}
 */
const itsTurn = (item) => new Promise((done) => {
  const look = () => {
    if (inLine.indexOf(item) > 0) return;
    turns.delete(look);
    done();
  };
  turns.add(look);
  look();
});

/** @param {Item} item */
const leaveLine = (item) => {
  const at = inLine.indexOf(item);
  if (at >= 0) inLine.splice(at, 1);
  for (const look of [...turns]) look();
};

const startNext = () => {
  while (going.size < AT_ONCE && queue.length) {
    const item = /** @type {Item} */ (queue.shift());
    going.add(item);
    void send(item);
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
  request.upload.addEventListener("progress", (event) => { if (event.total) item.line.sent(event.loaded / event.total); });
  request.addEventListener("loadend", () => done({ status: request.status, body: request.response }));
  request.send(item.file);
});

/** @param {Item} item */
const send = async (item) => {
  item.line.say("on its way");
  let { status, body } = await posted(item);
  // The notebook was started again under an open page: its token is another one.
  if (status === 403 && going.has(item) && await freshToken().catch(() => false)) ({ status, body } = await posted(item));
  if (!going.has(item)) return; // it was stopped
  if (status === 201) await arrived(item, body);
  else if (status === 0) wrong(item, "The connection broke; send it again.", true);
  else wrong(item, body ? said(body) : "It was not taken; send it again.", PASSING.has(status) || status >= 500);
  going.delete(item);
  leaveLine(item);
  startNext();
  tellEnd();
  await look(going.size === 0 && queue.length === 0);
};

/**
 * @param {Item} item
 * @param {string} words
 * @param {boolean} mayAgain
 */
const wrong = (item, words, mayAgain = false) => {
  item.line.wrong(words, mayAgain);
  told.set(item, true);
  batch.words.push(`${item.line.name}: ${words}`);
};

/**
 * @param {Item} item
 * @param {any} stored
 */
const arrived = async (item, stored) => {
  if (item.build) {
    item.line.say("being read");
    await itsTurn(item);
    if (!going.has(item)) return;
    const answer = await post(route("/assign"), { file: stored.name, build: item.build, which: 0 });
    if (!going.has(item)) return;
    if (!answer.ok) {
      if (answer.mistake.where === "file") wanted.set(stored.name, item.build);
      wrong(item, said(answer.mistake));
      return;
    }
  }
  batch.arrived += 1;
  if (!stored.already) { focusBeside(item.line.element); item.line.element.remove(); return; }
  item.line.over(`${stored.says}.`);
  told.set(item, false);
  batch.words.push(`${stored.says}.`);
};

/** When the last one is over, it is told once what became of them. */
const tellEnd = () => {
  if (going.size + queue.length > 0) return;
  const { arrived: count, words } = batch;
  announce([`${files(count)} ${count === 1 ? "has" : "have"} arrived.`, ...words.slice(0, 5)].join(" "));
};

/** @param {boolean} last */
const look = async (last) => {
  if (last) await refresh();
  else refreshSoon();
};

/**
 * A folder of many files takes a while to be looked through.
 * @param {Promise<Heap>} heap
 * @param {string} build
 */
const openFolder = async (heap, build) => {
  sayLeftOut("The folder is being looked through.");
  takeFiles(await heap, build);
};

/**
 * Files that are dropped anywhere are taken and never opened instead of the page: for the build that they fell on, else
 * for the one that is chosen. Text that is dragged is left to the browser.
 */
export const startDrops = () => {
  addEventListener("dragover", (event) => { if (carriesFiles(event)) event.preventDefault(); });
  addEventListener("drop", (event) => {
    if (!carriesFiles(event)) return;
    event.preventDefault();
    if (!document.querySelector("pullbook-upload")) return;
    const build = placeOf(event)?.dataset.drop || chosenBuild();
    const heap = event.dataTransfer && filesDropped(event.dataTransfer);
    if (heap instanceof Promise) void openFolder(heap, build);
    else if (heap?.files.length) takeFiles(heap, build);
  });
  addEventListener("beforeunload", (event) => { if (going.size + queue.length > 0) event.preventDefault(); });
};
