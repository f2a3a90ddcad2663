"""What the tests of the page's own elements share: sessions of their own in one served folder, files that are dropped,
a slow line, workers that are held."""

from __future__ import annotations

import json
import os
import signal
import time
from contextlib import suppress
from itertools import count
from typing import TYPE_CHECKING, Any, Final, Self

from browser.bench_day import PULL, SESSION
from browser.walk import until
from playwright.sync_api import expect

from pullbook.app.sessions import find_sessions

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

__all__ = ["COMPARED", "Held", "Line", "bench", "file_of", "opened", "recorded", "settled", "told_by"]

_SLICE: Final = 0.02  # s that held workers get to work at a time
_WAIT: Final = 20_000.0  # ms; a machine that runs all tests at once is slow


def file_of(number: int, rows: int = 81) -> str:
    """Text of a file of the bench with one pull in it; each number gives another one."""
    step = 4000 / (rows - 1)
    lines = (f"{8 * n / rows:.4f},{2000 + step * n:.2f},{150 + 20 * n / rows + number:.2f}" for n in range(rows))
    return "time [s],engine speed [rpm],torque [N m]\n" + "\n".join(lines) + "\n"


def _run(build: str, number: int) -> str:
    return f'\n[[pull]]\nbuild = "{build}"\nfile = "pulls/{build.lower()}{number}.csv"\n'


COMPARED: Final = "".join(_run(build, number) for number in (1, 2, 3) for build in "AB")
"""Lines of a run order of which findings can be made."""


def bench(server: Served, name: str, *, compared: bool = False) -> Path:
    """Put a session of a test's own into the served folder; a test that is run once more gets another one."""
    places = (server.root / (name if number == 1 else f"{name}-{number}") for number in count(1))
    folder = next(place for place in places if not place.exists())
    (folder / "pulls").mkdir(parents=True)
    head, claim = SESSION.split("[[pull]]")[0], SESSION[SESSION.index("[[claim]]") :]
    text = f"{head.rstrip()}\n{COMPARED}\n{claim}" if compared else SESSION
    for number in (1, 2, 3) if compared else ():
        for build, more in (("a", 0.0), ("b", 12.0)):
            lines = file_of(0).splitlines()
            rows = (line.rsplit(",", 1) for line in lines[1:])
            wobble = (0.0, 0.3, -0.2)[number - 1] + more
            body = (
                f"{start},{float(torque) + wobble + (-1) ** n * 0.05 * number:.3f}"
                for n, (start, torque) in enumerate(rows)
            )
            path = folder / "pulls" / f"{build}{number}.csv"
            path.write_text("\n".join([lines[0], *body]) + "\n", encoding="utf-8")
    if not compared:
        (folder / "pulls" / "a1.csv").write_text(PULL, encoding="utf-8")
    (folder / "session.toml").write_text(text, encoding="utf-8")
    return folder


def opened(visit: Callable[..., Visit], server: Served, folder: Path, query: str = "", **options: Any) -> Visit:
    """Page of a session, with its line to the notebook."""
    place = next(one for one in find_sessions(server.root) if one.folder == folder)
    seen = visit(server, f"/s/{place.id}{query}", reduced_motion="reduce", **options)
    seen.page.set_default_timeout(_WAIT)
    expect.set_options(timeout=_WAIT)
    expect(seen.page.locator("html")).to_have_attribute("data-connected", "")
    return seen


def settled(page: Page) -> None:
    """Wait until no file is being read and no comparison goes on."""
    expect(page.locator("#files .card progress")).to_have_count(0)
    expect(page.locator("#findings-pending")).to_have_count(0)


_RECORD: Final = """([name, selector]) => {
  const heard = window[name] = [];
  const said = () =>
    [...document.querySelectorAll(selector)].map((one) => one.textContent.trim()).filter(Boolean).join(" | ");
  let before = said();
  const look = () => {
    const now = said();
    if (now !== before) heard.push(now);
    before = now;
  };
  new MutationObserver(look).observe(document.documentElement, {subtree: true, childList: true, characterData: true});
}"""


def recorded(page: Page, selector: str, name: str = "heard") -> None:
    """Write down from now on everything that parts of the page say."""
    page.evaluate(_RECORD, [name, selector])


def told_by(page: Page, name: str = "heard") -> list[str]:
    """What was written down."""
    return [words for words in page.evaluate("(name) => window[name]", name) if words]


class Line:
    """The line between a page and the notebook, which can be made slow.

    Parameters
    ----------
    page : Page
        The page.
    """

    def __init__(self, page: Page) -> None:
        self._tools = page.context.new_cdp_session(page)
        self._tools.send("Network.enable")

    def slow(self, bytes_per_second: float = 40_000.0) -> None:
        """Let so many bytes through, up the line. [byte/s]."""
        self._set(bytes_per_second)

    def free(self) -> None:
        """As fast as it is."""
        self._set(-1.0)

    def _set(self, up: float) -> None:
        words = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": up}
        self._tools.send("Network.emulateNetworkConditions", words)


class Held:
    """Workers of a server that are held still, so that a job stays where it is.

    Parameters
    ----------
    server : Served
        The server.
    """

    def __init__(self, server: Served) -> None:
        self._server = server

    def __enter__(self) -> Self:
        self.hold()
        return self

    def __exit__(self, *_: object) -> None:
        self.let_go()

    def hold(self) -> None:
        """Stop them all."""
        _tell(self._server.workers(), signal.SIGSTOP)

    def let_go(self) -> None:
        """Let them work on."""
        _tell(self._server.workers(), signal.SIGCONT)

    def until_running(self, page: Page, kind: str, done: int = 0) -> dict[str, Any]:
        """Let them work until a job of a kind runs, says what it does and is so far; hold them there; gives the job."""
        found: dict[str, Any] = {}

        def runs() -> bool:
            self.let_go()
            time.sleep(_SLICE)
            self.hold()
            found.update(self.job_on(page, kind))
            return (
                found.get("state") == "running" and (kind == "read" or bool(found["doing"])) and found["done"] >= done
            )

        until(page, f"a job of the kind {kind} runs", runs)
        return found

    @staticmethod
    def job_on(page: Page, kind: str) -> dict[str, Any]:
        """The job of a kind that the page shows, as the notebook has it now."""
        if kind == "read":
            listed = json.loads(
                page.request.get(f"{_origin(page)}/api/sessions/{page.url.split('/')[-1]}/files").text()
            )
            return next((dict(one["job"]) for one in listed["files"] if one["job"]), {})
        shown = page.locator("pullbook-job[job]").evaluate_all("(all) => all.map((one) => one.getAttribute('job'))")
        for identity in shown:
            job = dict(json.loads(page.request.get(f"{_origin(page)}/api/jobs/{identity}").text()))
            if job.get("kind") == kind:
                return job
        return {}

    def kill(self) -> None:
        """Kill them all, as a system does that is out of memory."""
        _tell(self._server.workers(), signal.SIGKILL)


def _origin(page: Page) -> str:
    return str(page.evaluate("location.origin"))


def _tell(processes: Iterable[int], what: signal.Signals) -> None:
    for process in processes:
        with suppress(ProcessLookupError):
            os.kill(process, what)
