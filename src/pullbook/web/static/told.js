// What is told to those who listen to the page and do not see it. One region for all parts: it stays when a part is put
// in anew, and it speaks when something begins and when it ends, never in between.

/** @param {string} words */
export const announce = (words) => {
  const told = document.getElementById("told");
  if (told && told.textContent !== words) told.textContent = words;
};
