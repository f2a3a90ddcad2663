// The fields above the charts that say which range of engine speed they show.

const LEAST = 100; // narrowest range that can be shown, in rpm

/** @returns {{ form: HTMLFormElement, from: HTMLInputElement, to: HTMLInputElement } | null} */
const rangeFields = () => {
  /** @type {HTMLFormElement | null} */
  const form = document.querySelector("form.range");
  /** @type {HTMLInputElement | null | undefined} */
  const from = form?.querySelector("input.from");
  /** @type {HTMLInputElement | null | undefined} */
  const to = form?.querySelector("input.to");
  return form && from && to ? { form, from, to } : null;
};

/**
 * Show a range in the fields.
 * @param {[number, number] | null} range
 */
export const fieldsShow = (range) => {
  const fields = rangeFields();
  if (!fields) return;
  fields.from.value = range ? String(Math.round(range[0])) : fields.from.defaultValue;
  fields.to.value = range ? String(Math.round(range[1])) : fields.to.defaultValue;
  /** @type {HTMLButtonElement | null} */
  const reset = fields.form.querySelector("button.reset");
  if (reset) reset.disabled = !range;
};

/**
 * Listen to the fields, if they stand in a part of the page.
 * @param {ParentNode} root
 * @param {(range: [number, number] | null) => void} choose
 * @param {[number, number] | null} range shown now
 */
export const startFields = (root, choose, range) => {
  const fields = rangeFields();
  if (!fields || !root.contains(fields.form)) return;
  const { form, from, to } = fields;
  const typed = () => {
    const [low, high] = [from, to].map((input) =>
      Math.min(Math.max(Number(input.value), Number(input.min)), Number(input.max)));
    if (high - low >= LEAST) choose([low, high]);
  };
  form.onchange = typed;
  form.onsubmit = (event) => { event.preventDefault(); typed(); };
  form.onreset = (event) => { event.preventDefault(); choose(null); };
  fieldsShow(range);
};
