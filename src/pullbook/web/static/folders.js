// Folders that are dropped or chosen: opened, and the files in them taken as if each had been dropped by itself, in the
// order in which people number them. What is hidden was not put there by a tester; what is left out is said.

const MOST = 2000; // files of one handing over; a session with more of them is a mistake of the hand
const HIDDEN = /^(\.|__MACOSX$|Thumbs\.db$|desktop\.ini$)/i;

/**
 * A file with its way from the folder that was handed over, as in "monday/a1.csv"; its name alone where it was in none.
 * @typedef {{ file: File, path: string }} Found
 * @typedef {{ files: Found[], hidden: number, beyond: number, unread: string[] }} Heap
 */

/** @returns {Heap} */
const emptyHeap = () => ({ files: [], hidden: 0, beyond: 0, unread: [] });

/** @param {string} path */
const isHidden = (path) => path.split("/").some((name) => HIDDEN.test(name));

/**
 * Put a file on the heap, unless it is hidden or one too many.
 * @param {Heap} heap
 * @param {Found} found
 */
const put = (heap, found) => {
  if (found.path.includes("/") && isHidden(found.path)) heap.hidden += 1; // one that was named by itself is meant
  else if (heap.files.length >= MOST) heap.beyond += 1;
  else heap.files.push(found);
};

/** @param {Heap} heap */
const inOrder = (heap) => {
  heap.files.sort((one, other) => one.path.localeCompare(other.path, "en", { numeric: true }));
  return heap;
};

/**
 * Everything in a folder; a browser gives it in portions.
 * @param {FileSystemDirectoryEntry} folder
 * @returns {Promise<FileSystemEntry[]>}
 */
const entriesIn = async (folder) => {
  const reader = folder.createReader(), all = [];
  for (;;) {
    /** @type {FileSystemEntry[]} */
    const portion = await new Promise((done, failed) => { reader.readEntries(done, failed); });
    if (!portion.length) return all.sort((one, other) => one.name.localeCompare(other.name, "en", { numeric: true }));
    all.push(...portion);
  }
};

/**
 * @param {Heap} heap
 * @param {FileSystemEntry} entry
 * @param {string} above way to where it is, ending in a slash, or nothing
 * @returns {Promise<void>}
 */
const walk = async (heap, entry, above) => {
  const path = above + entry.name;
  try {
    if (entry.isDirectory) {
      if (above && isHidden(entry.name)) { heap.hidden += 1; return; }
      for (const one of await entriesIn(/** @type {FileSystemDirectoryEntry} */ (entry))) await walk(heap, one, `${path}/`);
    } else if (heap.files.length >= MOST && !isHidden(path)) {
      heap.beyond += 1; // it need not be opened to be left out
    } else {
      const file = await new Promise((done, failed) => { /** @type {FileSystemFileEntry} */ (entry).file(done, failed); });
      put(heap, { file, path });
    }
  } catch {
    heap.unread.push(path);
  }
};

/**
 * Files of what was dropped. It has to be called while the drop is being told: afterwards a browser gives nothing away.
 * @param {DataTransfer} carried
 * @returns {Heap | Promise<Heap>} at once where no folder is among it
 */
export const filesDropped = (carried) => {
  const entries = [...carried.items].map((item) => item.webkitGetAsEntry?.() ?? null);
  const plain = [...carried.files];
  if (!entries.some((entry) => entry?.isDirectory)) return filesChosen(plain);
  return (async () => {
    const heap = emptyHeap();
    for (const entry of entries) if (entry) await walk(heap, entry, "");
    return inOrder(heap);
  })();
};

/**
 * Files of a choice, of single files or of a folder.
 * @param {File[]} chosen
 * @returns {Heap}
 */
export const filesChosen = (chosen) => {
  const found = chosen.map((file) => ({ file, path: file.webkitRelativePath || file.name }));
  const heap = inOrder({ ...emptyHeap(), files: found });
  const all = heap.files;
  heap.files = [];
  for (const one of all) put(heap, one);
  return heap;
};

/**
 * What was left out, as a sentence; nothing where nothing was.
 * @param {Heap} heap
 */
export const leftOut = ({ hidden, beyond, unread }) => {
  const words = [];
  if (hidden) words.push(hidden === 1 ? "1 hidden file or folder" : `${hidden} hidden files or folders`);
  if (beyond) words.push(`${beyond} beyond the first ${MOST.toLocaleString("en")}`);
  if (unread.length) words.push(`${unread.length} that cannot be read (${unread.slice(0, 3).join(", ")}${unread.length > 3 ? " and more" : ""})`);
  if (!words.length) return "";
  return `Left out: ${words.join(", ")}${beyond ? "; hand the rest over by itself" : ""}.`;
};
