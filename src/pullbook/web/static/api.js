// Requests to the notebook's routes: the token of this start, and every mistake in its one form.

/**
 * @typedef {{ what: string, where: string, value: string, remedy: string, yours?: string, theirs?: string }} Mistake
 * @typedef {{ ok: true, body: any } | { ok: false, status: number, mistake: Mistake }} Answer
 */

const UNSAFE = new Set(["POST", "PUT", "DELETE", "PATCH"]);

/** @type {HTMLMetaElement | null} */
const meta = document.querySelector('meta[name="pullbook-token"]');
let token = meta?.content ?? "";

/** @type {Mistake} */
const AWAY = {
  what: "the notebook does not answer", where: "", value: "",
  remedy: "look whether pullbook still runs; this page goes on by itself when it does",
};

/** Id of the session that the page shows; empty on the list. */
export const sessionId = () => /** @type {HTMLElement | null} */ (document.querySelector("[data-session]"))?.dataset.session ?? "";

/**
 * Revision of session.toml that the part of the page shows in which an element stands.
 * @param {Element} [element]
 */
export const revision = (element) =>
  /** @type {HTMLElement | null} */ (element?.closest("[data-revision]") ?? document.querySelector("[data-revision]"))?.dataset.revision ?? "";

/** The token that requests carry. */
export const currentToken = () => token;

/**
 * Take the token of a later start of the notebook.
 * @param {string} fresh
 */
export const takeToken = (fresh) => { if (fresh) token = fresh; };

/** Ask for the token of the notebook that runs now; whether it answered. */
export const freshToken = async () => {
  const answer = await fetch("/api/token", { headers: { Accept: "application/json" } });
  if (answer.ok) takeToken((await answer.json()).token);
  return answer.ok;
};

/**
 * What an error of a mistake says, as one sentence.
 * @param {Mistake} mistake
 */
export const said = ({ what, value, remedy }) =>
  `${what.slice(0, 1).toUpperCase()}${what.slice(1)}${value ? ` ("${value}")` : ""}${remedy ? `; ${remedy}` : ""}.`;

/**
 * The same for somebody who fills in a field, and does not write the lines of the file.
 * @param {Mistake} mistake
 * @returns {Mistake}
 */
export const forField = (mistake) => ({
  ...mistake,
  what: mistake.what.replace(/, not text$/, ""),
  value: mistake.value === "None" ? "" : mistake.value.replace(/^\['(.*)'\]$/, "$1"),
  remedy: mistake.remedy.replace(/'([^']+)'/g, "$1"),
});

/**
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body]
 * @param {boolean} [again] whether this is the second try, with a fresh token
 * @returns {Promise<Answer>}
 */
const asked = async (method, path, body, again = false) => {
  /** @type {Record<string, string>} */
  const headers = { Accept: "application/json" };
  if (UNSAFE.has(method)) headers["X-Pullbook-Token"] = token;
  if (body !== undefined) headers["Content-Type"] = "application/json";
  /** @type {Response} */
  let answer;
  try {
    answer = await fetch(path, { method, headers, body: body === undefined ? null : JSON.stringify(body) });
  } catch {
    return { ok: false, status: 0, mistake: AWAY };
  }
  // The notebook was started again under an open page: its token is another one.
  if (answer.status === 403 && UNSAFE.has(method) && !again && (await freshToken())) return asked(method, path, body, true);
  const found = await answer.json().catch(() => AWAY);
  return answer.ok ? { ok: true, body: found } : { ok: false, status: answer.status, mistake: found };
};

/** @param {string} path */
export const get = (path) => asked("GET", path);

/**
 * @param {string} path
 * @param {unknown} body
 */
export const post = (path, body) => asked("POST", path, body);

/**
 * @param {string} path
 * @param {unknown} body
 */
export const put = (path, body) => asked("PUT", path, body);

/** @param {string} path */
export const remove = (path) => asked("DELETE", path);

/**
 * Route of the session that the page shows.
 * @param {string} rest as in "/edits"
 */
export const route = (rest) => `/api/sessions/${encodeURIComponent(sessionId())}${rest}`;
