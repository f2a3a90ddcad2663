// Which builds are shown: the boxes in the key of the charts.

/** @type {Set<string>} */
const off = new Set();

/** Names of the builds that are not shown. */
export const hiddenBuilds = () => off;

/**
 * Listen to the boxes of a part of the page. What was hidden stays hidden when the part was put in anew.
 * @param {ParentNode} root
 * @param {() => void} changed
 */
export const startBuilds = (root, changed) => {
  /** @type {NodeListOf<HTMLInputElement>} */
  const boxes = root.querySelectorAll("input.toggle");
  for (const box of boxes) {
    box.checked = !off.has(box.value);
    box.onchange = () => {
      if (box.checked) off.delete(box.value);
      else off.add(box.value);
      changed();
    };
  }
};
