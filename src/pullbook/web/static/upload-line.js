// The line of one file on its way: its name, its bar, what happens to it, and what can be done about it.

/** A list item for the queue. */
export class UploadLine {
  /**
   * @param {string} path name of the file, behind that of the folder that it was in
   * @param {{ away: () => void, again: () => void }} ways what its buttons do
   */
  constructor(path, { away, again }) {
    this.name = path;
    this.element = document.createElement("li");
    this.words = document.createElement("span");
    this.words.className = "doing";
    this.bar = document.createElement("progress");
    this.bar.setAttribute("aria-label", `Sending ${path}`);
    this.stop = this.#button(away);
    this.again = this.#button(again);
    this.again.textContent = "Send again";
    this.again.setAttribute("aria-label", `Send again: ${path}`);
    const name = document.createElement("span");
    name.className = "file";
    name.textContent = path;
    this.element.append(name, " ", this.bar, " ", this.words, " ", this.stop);
    this.wait();
  }

  /** @param {() => void} act */
  #button(act) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "small";
    button.addEventListener("click", act);
    return button;
  }

  /** @param {string} words */
  #stopSays(words) {
    this.stop.textContent = words;
    this.stop.setAttribute("aria-label", `${words}${words === "Stop" ? " sending" : ":"} ${this.name}`);
  }

  /** It waits for its turn. */
  wait() {
    this.say("waiting");
    this.again.remove();
    this.#stopSays("Stop");
    this.bar.max = 1;
    this.bar.value = 0;
    this.words.before(this.bar, " ");
  }

  /** @param {number} part how much of it is sent, from 0 to 1 */
  sent(part) { this.bar.value = part; }

  /** @param {string} words */
  say(words) {
    this.words.textContent = words;
    this.words.classList.remove("wrong");
  }

  /**
   * It is over and has something to say until it is put away.
   * @param {string} words
   * @param {boolean} mayAgain whether sending it again may help
   */
  over(words, mayAgain = false) {
    this.say(words);
    this.bar.remove();
    this.#stopSays("Put away");
    if (mayAgain) this.stop.before(this.again, " ");
  }

  /**
   * It was not taken.
   * @param {string} words
   * @param {boolean} mayAgain
   */
  wrong(words, mayAgain) {
    this.over(words, mayAgain);
    this.words.classList.add("wrong");
  }
}
