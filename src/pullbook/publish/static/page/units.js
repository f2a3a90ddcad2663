// Units of the reader: which are chosen, remembered from page to page. A page for one kind of reader has no choice to
// offer; it says its units in data-system of the html element.

/** @typedef {"metric" | "us"} UnitSystem */

const REMEMBERED = "pullbook.units";

/** @returns {HTMLInputElement[]} */
const unitInputs = () => [...document.querySelectorAll("input")].filter((input) => input.name === "units");

/**
 * Units that the page shows now.
 * @returns {UnitSystem}
 */
export const unitSystem = () => {
  const chosen = unitInputs().find((input) => input.checked)?.value ?? document.documentElement.dataset.system;
  return chosen === "us" ? "us" : "metric";
};

/** @returns {string | null} */
const rememberedUnits = () => {
  try { return localStorage.getItem(REMEMBERED); } catch { return null; } // a page on a disk may have no storage
};

/** @param {string} value */
const rememberUnits = (value) => {
  try { localStorage.setItem(REMEMBERED, value); } catch { /* the choice holds for this page */ }
};

/**
 * Take up the reader's last choice, and tell of every new one.
 * @param {(system: UnitSystem) => void} changed
 */
export const startUnits = (changed) => {
  const last = unitInputs().find((input) => input.value === rememberedUnits());
  if (last) last.checked = true;
  unitInputs().forEach((input) => input.addEventListener("change", () => {
    rememberUnits(input.value);
    changed(unitSystem());
  }));
};
