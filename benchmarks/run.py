"""Figures of speed and size, each beside the limit that it has to keep: `python3 tasks.py bench`.

Medians on one core. The other files of this folder measure one thing each and may be run alone.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Final

HERE: Final = Path(__file__).resolve().parent
ONE_CORE: Final = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "POLARS_MAX_THREADS": "1",
}
# The harness itself, what another environment runs, and sessions that a benchmark opens.
APART: Final = frozenset({"run.py", "gas_pyclaw.py", "notebook_sessions.py"})
# What takes minutes is made shorter here; run alone it takes the numbers that its limits are about.
SHORTER: Final = {"archive_bench.py": ("--pulls", "9000")}
BROWSERS: Final = ("/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome")

# Two frames after the first picture stands in the page, it has been drawn.
WATCH_FIRST_CHART: Final = """
new MutationObserver((changes, observer) => {
  if (!document.querySelector("figure svg")) return;
  observer.disconnect();
  requestAnimationFrame(() => requestAnimationFrame(() => { window.firstChart = performance.now(); }));
}).observe(document, { childList: true, subtree: true });
"""


def line(what: str, value: float, unit: str, limit: float) -> None:
    """Print one figure and whether it keeps its limit."""
    print(
        f"{what:58}{value:9.2f} {unit:4} limit {limit:g} {unit}  {'kept' if value < limit else 'NOT KEPT'}", flush=True
    )


def run(*command: str) -> str:
    """Output of a command on one core; what it says on the way is shown."""
    done = subprocess.run(command, env={**os.environ, **ONE_CORE}, stdout=subprocess.PIPE, check=True, encoding="utf-8")
    return done.stdout


def median_time(*command: str, times: int) -> float:
    """Median wall time of a command, in seconds."""
    run(*command)
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run(*command)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def first_chart_time(page: Path, times: int = 5) -> float:
    """Median time from the start of loading a report until its first chart is drawn, by the page's clock, in s."""
    from playwright.sync_api import sync_playwright

    taken = []
    with sync_playwright() as player:
        path = next(path for path in BROWSERS if Path(path).exists())
        browser = player.chromium.launch(executable_path=path, args=["--no-sandbox"])
        for _ in range(times + 1):
            view = browser.new_page(viewport={"width": 1280, "height": 900})
            view.add_init_script(WATCH_FIRST_CHART)
            view.goto(page.as_uri())
            taken.append(float(view.wait_for_function("window.firstChart").json_value()) / 1000.0)
            view.close()
        browser.close()
    return statistics.median(taken[1:])


def measure_report(folder: Path) -> None:
    """Size of the demo's report and the time until it shows something."""
    run(sys.executable, "-m", "pullbook", "demo", "--to", str(folder), "--no-open")
    page = folder / "report" / "report.html"
    line("report of the demo, one file", page.stat().st_size / 1e6, "MB", 6.5)
    line("first chart of it visible in Chromium", first_chart_time(page), "s", 1.0)


def main() -> None:
    """Print all figures; those that take long have files of their own."""
    line("pullbook --help", median_time(sys.executable, "-m", "pullbook", "--help", times=9), "s", 0.25)
    # The half that needs PyClaw is started by gas_bench.py, in an environment that has it.
    for script in sorted(path for path in HERE.glob("*.py") if path.name not in APART):
        print(run(sys.executable, str(script), *SHORTER.get(script.name, ())), end="", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        measure_report(Path(folder) / "demo")


if __name__ == "__main__":
    main()
