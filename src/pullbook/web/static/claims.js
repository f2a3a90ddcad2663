// A claim as a sentence: what its fields say, in words and for the file.

/** @type {Record<string, string>} */
const WORDS = { at_least: "at least", at_most: "at most", within: "no more or less than" };

/** @param {string} where */
const placeWords = (where) => {
  if (where === "peak") return "at the peak";
  return where.includes("..") ? `over ${where}` : `at ${where}`;
};

/**
 * Sentence of a claim.
 * @param {{ of: string, from: string, quantity: string, where: string, limit: string, number: string }} claim
 */
export const sentenceOf = ({ of, from, quantity, where, limit, number }) =>
  limit === "within"
    ? `${of} and ${from} are no more than ${number} of ${quantity} apart ${placeWords(where)}`
    : `${of} has ${WORDS[limit]} ${number} more ${quantity} than ${from} ${placeWords(where)}`;

/** @param {string} text */
const idOf = (text) =>
  text.toLowerCase().normalize("NFKD").replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "").slice(0, 40).replace(/-+$/, "") || "claim";

/**
 * Table of the file for a claim, out of its form.
 * @param {HTMLFormElement} form
 * @returns {Record<string, any>}
 */
export const claimOf = (form) => {
  const data = new FormData(form);
  const word = (/** @type {string} */ name) => String(data.get(name) ?? "").trim();
  const claim = { of: word("of"), from: word("from"), quantity: word("quantity"), where: word("where"), limit: word("limit"), number: word("number") };
  const says = word("says") || sentenceOf(claim);
  const taken = new Set([.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-claim-id]"))].map((one) => one.dataset.claimId));
  let id = idOf(says);
  for (let n = 2; taken.has(id); n += 1) id = `${idOf(says)}-${n}`;
  return { id, says, of: claim.of, from: claim.from, quantity: claim.quantity, where: claim.where, [claim.limit]: claim.number };
};

/**
 * Sentence that a row of the claims stands for, by what its fields say now or said when they came from the file.
 * @param {HTMLElement} row
 * @param {boolean} now
 */
const sentenceOfRow = (row, now) => {
  const at = row.dataset.entry ?? "";
  /** @param {string} where */
  const word = (where) => {
    const field = /** @type {HTMLInputElement | HTMLSelectElement | null} */ (row.querySelector(where));
    return (now ? field?.value.trim() : field?.dataset.was) ?? "";
  };
  const [of = "", from = "", quantity = "", where = ""] = ["of", "from", "quantity", "where"].map((key) => word(`[data-at="${CSS.escape(`${at}.${key}`)}"]`));
  const held = /** @type {HTMLElement | null} */ (row.querySelector("[data-limit]"))?.dataset.was ?? "";
  const number = word(`[data-at="${CSS.escape(`${at}.${held}`)}"]`);
  return sentenceOf({ of, from, quantity, where, limit: word("[data-limit]"), number });
};

/**
 * What has to be changed with a field of a claim: a sentence that was made of its numbers follows them, one that
 * somebody said stays.
 * @param {Element} field
 */
export const sentenceEdits = (field) => {
  const row = /** @type {HTMLElement | null} */ (field.closest(".claim-row"));
  const says = /** @type {HTMLInputElement | null} */ (row?.querySelector('[data-at$=".says"]') ?? null);
  if (!row || !says || says === field) return [];
  const before = sentenceOfRow(row, false), after = sentenceOfRow(row, true);
  if (before === after || says.dataset.was !== before || says.value !== before) return [];
  return [{ do: "set", at: says.dataset.at ?? "", value: after, was: before, knows_was: true }];
};
