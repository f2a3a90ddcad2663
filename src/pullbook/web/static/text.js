// The whole of session.toml as text. Where the file was changed by somebody else meanwhile, both texts are shown, and
// either can be taken.

import { get, put, route } from "./api.js";
import { mark } from "./fields.js";
import { refresh } from "./fragments.js";

/**
 * Send the whole text.
 * @param {HTMLFormElement} form
 * @returns {Promise<import("./api.js").Answer>}
 */
export const whole = async (form) => {
  const text = /** @type {HTMLTextAreaElement} */ (form.querySelector("textarea"));
  const holder = /** @type {HTMLElement} */ (form.closest("pullbook-text"));
  const answer = await put(route("/text"), { text: text.value, revision: holder.getAttribute("revision") ?? "" });
  if (answer.ok) { text.defaultValue = text.value; form.querySelector(".theirs")?.remove(); }
  else if (answer.status === 409) await bothTexts(form, text, answer.mistake);
  return answer;
};

/**
 * Both versions of the file; the one that was typed stays in its field.
 * @param {HTMLFormElement} form
 * @param {HTMLTextAreaElement} text
 * @param {import("./api.js").Mistake} mistake
 */
const bothTexts = async (form, text, mistake) => {
  form.querySelector(".theirs")?.remove();
  const now = await get(route(""));
  const box = document.createElement("div");
  box.className = "theirs field wide";
  const label = document.createElement("label");
  const theirs = document.createElement("textarea");
  theirs.readOnly = true;
  theirs.rows = text.rows;
  theirs.id = "whole-text-theirs";
  theirs.value = now.ok ? now.body.text : mistake.theirs ?? "";
  theirs.defaultValue = theirs.value;
  label.htmlFor = theirs.id;
  label.textContent = "What the file holds now. Take over from it what you need and save again, or leave the file as it is";
  const take = document.createElement("button");
  take.type = "button";
  take.className = "small";
  take.textContent = "Keep that of the file";
  take.addEventListener("click", () => {
    text.value = text.defaultValue;
    box.remove();
    mark(text, null);
    text.focus();
    void refresh();
  });
  box.append(label, theirs, take);
  form.querySelector(".acts")?.before(box);
  if (now.ok) /** @type {HTMLElement} */ (form.closest("pullbook-text")).setAttribute("revision", now.body.revision);
};
