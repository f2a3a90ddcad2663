// Paper. Closed details would be missing on it: the list of pulls is opened for the printer and closed again. The
// recipes stay closed: of each pull, paper shows file, rows and hash.

/** Open what paper has to show while the page is printed. */
export const startPrint = () => {
  /** @type {HTMLDetailsElement[]} */
  let opened = [];
  addEventListener("beforeprint", () => {
    /** @type {NodeListOf<HTMLDetailsElement>} */
    const lists = document.querySelectorAll("details.all-pulls");
    opened = [...lists].filter((list) => !list.open);
    opened.forEach((list) => { list.open = true; });
  });
  addEventListener("afterprint", () => {
    opened.forEach((list) => { list.open = false; });
    opened = [];
  });
};
