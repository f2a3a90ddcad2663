// Where the reader is, in the list of contents.

/** @type {IntersectionObserver | null} */
let sectionsWatched = null;

/**
 * Watch the sections of the page; call it again when sections were put in or taken away.
 */
export const watchSections = () => {
  sectionsWatched?.disconnect();
  /** @type {NodeListOf<HTMLAnchorElement>} */
  const links = document.querySelectorAll(".contents a");
  sectionsWatched = new IntersectionObserver((entries) => {
    entries.filter((entry) => entry.isIntersecting).forEach((entry) => {
      links.forEach((link) => {
        if (link.hash === `#${entry.target.id}`) link.setAttribute("aria-current", "true");
        else link.removeAttribute("aria-current");
      });
    });
  }, { rootMargin: "-20% 0px -70% 0px" });
  for (const section of document.querySelectorAll("main section[id]")) sectionsWatched.observe(section);
};
