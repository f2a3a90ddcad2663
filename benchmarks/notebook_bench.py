"""The notebook in Chromium with the network cut: start, first chart, weight, rpm window, scrolling, files, memory.

Run it with `python benchmarks/notebook_bench.py`; a server of its own is started on folders of its own.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

HERE: Final = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from browser.served import Served  # noqa: E402 - the tests' own server is beside this folder
from notebook_sessions import pull_files, write_crowd, write_demo  # noqa: E402 - as above
from run import BROWSERS, line  # noqa: E402 - as above

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page, Playwright

CUT: Final = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
TIMES: Final = 3
LIBRARY: Final = "plotly"
WAIT: Final = 120.0  # s
# Two frames after a chart's picture stands in the page, it has been drawn.
WATCH: Final = """
const seen = (name, selector) => new MutationObserver((changes, observer) => {
  if (!document.querySelector(selector)) return;
  observer.disconnect();
  requestAnimationFrame(() => requestAnimationFrame(() => { window[name] = performance.now(); }));
}).observe(document, {childList: true, subtree: true, attributes: true, attributeFilter: ["class"]});
seen("firstChart", "figure.chart .picture"); seen("firstLive", "figure.is-live");
"""
SCROLL: Final = """() => new Promise((done) => {
  const frames = []; const begun = performance.now();
  const end = () => scrollY + innerHeight >= document.documentElement.scrollHeight - 1;
  const longest = () => Math.max(...frames.slice(1).map((at, i) => at - frames[i]));
  const step = (now) => { frames.push(now); scrollBy(0, 24);
    if (now - begun < 4000 && !end()) requestAnimationFrame(step);
    else done([frames.length - 1, frames.at(-1) - frames[0], longest()]); };
  scrollTo(0, 0); requestAnimationFrame(step); })"""
DRAG: Final = """(handle) => {
  const keys = [...Array(24).keys()].map((i) => (i < 12 ? "ArrowRight" : "ArrowLeft"));
  return keys.map((key) => { const begun = performance.now();
    handle.dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true}));
    document.body.getBoundingClientRect();
    return performance.now() - begun; }); }"""


def first_answer(server: Served) -> float:
    """Time from the start of the process to the first answer, in s."""
    begun = time.perf_counter()
    server.launch()
    while True:
        try:
            with urllib.request.urlopen(f"{server.address}/", timeout=10.0) as answer:  # noqa: S310 - our own server
                answer.read()
                return time.perf_counter() - begun
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.005)


def measure_start(folder: Path) -> None:
    """Print the time to the first answer, of a pullbook that was started once before."""
    first = Served(folder / "sessions", folder / "start")
    first_answer(first)
    first.stop()
    taken = []
    for number in range(TIMES):
        server = Served(folder / "sessions", folder / f"start-{number}")
        taken.append(first_answer(server))
        server.stop()
    line("notebook: start to first answer", statistics.median(taken), "s", 0.9)


def wait_for(page: Page, expression: str, *, every: float = 25.0) -> None:
    """Wait until an expression is true; the policy of the page allows no text that is run inside it, so it is asked."""
    begun = time.monotonic()
    while not page.evaluate(expression):
        if time.monotonic() - begun > WAIT:
            sys.exit(f"notebook_bench.py: it did not come to pass that {expression}")
        page.wait_for_timeout(every)


def opened(context: BrowserContext, address: str) -> tuple[Page, float, float]:
    """Page of a session at its charts, with the times of the first chart seen and the first that is live, in s."""
    page = context.new_page()
    page.add_init_script(WATCH)
    page.goto(address)
    # Where nothing was kept, the curves come after the page, and the reader has to go to them.
    wait_for(
        page,
        "(window.firstChart && window.firstLive) || (document.querySelector('#curves')?.scrollIntoView(), false)",
    )
    return page, *(float(page.evaluate(f"window.{name}")) / 1000.0 for name in ("firstChart", "firstLive"))


def session_of(server: Served, page: Page, words: str) -> str:
    """Address of a session, as the list of sessions gives it."""
    page.goto(f"{server.address}/")
    link = page.locator("#sessions a", has_text=words).first
    return f"{server.address}{link.get_attribute('href')}"


def measure_charts(browser: Browser, server: Served) -> str:
    """Print how soon the charts of the demo stand in its page, and what the page weighs; the address of the page."""
    with browser.new_context() as context:
        address = session_of(server, context.new_page(), "invented") + "#curves"
    with browser.new_context() as context:
        seen, live = opened(context, address)[1:]
        # Here the page waits for the comparison of the session, so that no limit for a page applies.
        print(f"{'notebook: demo, never compared before: first chart':58}{seen:9.2f} s", flush=True)
        print(f"{'notebook: demo, never compared before: interactive':58}{live:9.2f} s", flush=True)
    cold = []
    for _ in range(TIMES):
        with browser.new_context() as context:
            cold.append(opened(context, address)[1:])
    line("notebook: demo, cold browser: first chart visible", statistics.median(one for one, _ in cold), "s", 1.0)
    line("notebook: demo, cold browser: interactive", statistics.median(one for _, one in cold), "s", 3.0)
    with browser.new_context() as context:
        again = [opened(context, address)[1:] for _ in range(TIMES + 1)][1:]
        private = statistics.median(one for _, one in again)
        print(f"{'notebook: demo, seen before in a private window: interactive':58}{private:9.2f} s", flush=True)
    with browser.new_context() as context:
        measure_weight(context, address)
    return address


def measure_warm(player: Playwright, path: str, profile: Path, address: str) -> None:
    """Print how soon the charts stand in a browser as people have one, with a profile, that has seen the page before.

    Such a browser keeps the file of the chart library and, from its second reading on, what it compiled of it; a
    private window keeps only the file.
    """
    with player.chromium.launch_persistent_context(
        profile, executable_path=path, args=["--no-sandbox", CUT]
    ) as context:
        warm = [opened(context, address)[1:] for _ in range(TIMES + 3)][3:]
    line("notebook: demo, warm: first chart visible", statistics.median(one for one, _ in warm), "s", 1.0)
    line("notebook: demo, warm: interactive", statistics.median(one for _, one in warm), "s", 1.6)


def measure_weight(context: BrowserContext, address: str) -> None:
    """Print what is transferred for a page that is seen from top to bottom by a browser that kept nothing."""
    page = context.new_page()
    session = context.new_cdp_session(page)
    session.send("Network.enable")
    names: dict[str, str] = {}
    sizes: dict[str, float] = {}

    def named(event: dict[str, Any]) -> None:
        names[event["requestId"]] = event["request"]["url"]

    def ended(event: dict[str, Any]) -> None:
        sizes[event["requestId"]] = event["encodedDataLength"]

    session.on("Network.requestWillBeSent", named)
    session.on("Network.loadingFinished", ended)
    page.goto(address)
    for figure in page.locator("figure.chart").all():
        figure.scroll_into_view_if_needed()
        page.wait_for_timeout(300)
    page.wait_for_load_state("networkidle")
    library = sum(size for key, size in sizes.items() if LIBRARY in names.get(key, ""))
    line("notebook: demo, transferred", sum(sizes.values()) / 1e6, "MB", 2.5)
    line("notebook: demo, transferred without the chart library", (sum(sizes.values()) - library) / 1e3, "kB", 150.0)


def measure_window(page: Page) -> None:
    """Print how long the numbers of the page take to follow the rpm window."""
    handle = page.locator("[role=slider]").first
    handle.scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    taken = handle.evaluate(DRAG)
    line("notebook: rpm window moved, numbers of 8 builds follow", max(taken), "ms", 50.0)


def measure_crowd(browser: Browser, server: Served) -> None:
    """Print how a session of 8 builds x 3 pulls x 400 points scrolls, and how its numbers follow the window."""
    with browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce") as context:
        page = opened(context, session_of(server, context.new_page(), "Eight builds") + "#curves")[0]
        page.wait_for_load_state("networkidle")
        measure_window(page)
        page.evaluate(SCROLL)  # once, so that every chart is there
        page.wait_for_timeout(1_500)
        frames, taken, longest = page.evaluate(SCROLL)
        line("notebook: 8 builds x 3 pulls, time of a frame in scrolling", taken / frames, "ms", 17.5)
        print(f"{'notebook: the longest of these frames':58}{longest:9.1f} ms", flush=True)


def measure_files(browser: Browser, server: Served, files: list[Path]) -> None:
    """Print how long 200 files take from being dropped to being understood."""
    with browser.new_context() as context:
        page = context.new_page()
        page.goto(session_of(server, page, "Files to come"))
        begun = time.perf_counter()
        page.locator("#pick-files").set_input_files(files)
        cards = "document.querySelectorAll('#files .card')"
        done = f"{cards}.length === {len(files)} && ![...{cards}].some((card) => card.querySelector('progress'))"
        wait_for(page, done, every=50.0)  # asking more often takes a processor from what is measured
        line(f"notebook: {len(files)} files of 400 rows understood", time.perf_counter() - begun, "s", 5.0)


def measure_memory(browser: Browser, server: Served) -> None:
    """Print the memory of the server under 20 open pages, without and with its workers."""
    with browser.new_context() as context:
        address = session_of(server, context.new_page(), "invented")
        for _ in range(20):
            context.new_page().goto(address)
        line("notebook: 20 open pages, memory of the server", server.memory() / 1e6, "MB", 300.0)
        together = server.memory() + sum(server.memory(worker) for worker in server.workers())
        print(f"{'notebook: the same, with its workers':58}{together / 1e6:9.1f} MB", flush=True)


def main() -> None:
    """Print the figures beside their limits."""
    from playwright.sync_api import sync_playwright

    # Whoever installs pullbook has its compiled modules, so they may be kept here too.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_demo(folder / "sessions" / "demo")
        write_crowd(folder / "sessions" / "crowd")
        files = pull_files(folder / "files", folder / "sessions" / "files", 200)
        measure_start(folder)
        with sync_playwright() as player:
            path = next(path for path in BROWSERS if Path(path).exists())
            browser = player.chromium.launch(executable_path=path, args=["--no-sandbox", CUT])
            with Served(folder / "sessions", folder / "home") as server:
                measure_warm(player, path, folder / "profile", measure_charts(browser, server))
                measure_crowd(browser, server)
                measure_files(browser, server, files)
                measure_memory(browser, server)
            browser.close()


if __name__ == "__main__":
    main()
