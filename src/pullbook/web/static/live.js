// The line to the notebook: it says that something changed, never what. When it breaks, the page says so, tries again,
// and asks for itself when it holds again.

import { revision, sessionId, takeToken } from "./api.js";
import { refreshSoon } from "./fragments.js";
import { showJob } from "./jobs.js";

const FIRST = 300; // ms until the first try again
const LONGEST = 4000;

let pause = FIRST;
let lost = false;

/** @param {string} words */
const tell = (words) => {
  const news = document.getElementById("news");
  if (news && news.textContent !== words) news.textContent = words;
};

/** @param {MessageEvent} event */
const heard = (event) => {
  const message = JSON.parse(event.data);
  if (message.hello) {
    takeToken(message.token);
    pause = FIRST;
    tell("");
    // What came to pass between the page and this line was told to nobody.
    if (lost || message.revision !== revision() || document.querySelector("main progress")) refreshSoon();
    lost = false;
    document.documentElement.dataset.connected = "";
  } else if (message.changed) {
    refreshSoon();
  } else if (message.job) {
    if (showJob(message.job)) refreshSoon();
  }
};

const broken = () => {
  delete document.documentElement.dataset.connected;
  if (!lost) lost = true;
  tell("The notebook does not answer. What you typed stays; the page goes on when pullbook runs again.");
  setTimeout(connect, pause);
  pause = Math.min(pause * 1.6, LONGEST);
};

/** Open the line, and open it again whenever it breaks. */
export const connect = () => {
  const scheme = location.protocol === "https:" ? "wss:" : "ws:";
  const socket = new WebSocket(`${scheme}//${location.host}/api/live?session=${encodeURIComponent(sessionId())}`);
  socket.addEventListener("message", heard);
  socket.addEventListener("close", broken);
};
