"""Sessions whose pulls are planned, and asking a notebook about them, shared by tests of its routes."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import numpy as np
from plan_cases import PLAIN
from session_folder import pull_text

if TYPE_CHECKING:
    from pathlib import Path

    from unit_web import Asking

TERMS = '\n[plan]\nmean_torque = "180 N m"\n'
ASKED = {"resolve": "6 N m over 2500..3500 rpm", "within": "5 h"}
AIR = 'air = { temperature = "22.0 degC", pressure = "99.0 kPa", humidity = "45 %" }\n'
RUN = (("A", "a1"), ("A", "a2"), ("B", "b1"), ("B", "b2"), ("A", "a3"), ("B", "b3"))


def write_builds(asking: Asking, name: str) -> tuple[str, Path]:
    """A session with two builds and no pulls: its id and its folder."""
    folder = asking.root / name
    folder.mkdir()
    (folder / "session.toml").write_text(PLAIN + TERMS, encoding="utf-8")
    sessions = asking.get("/api/sessions").json()["sessions"]
    return str(next(one["id"] for one in sessions if one["name"] == name)), folder


def begin_run(folder: Path, made: int) -> None:
    """Plan six pulls, of which the first ones have files."""
    rng = np.random.default_rng(11)
    lines = "".join(f'\n[[pull]]\nbuild = "{build}"\nfile = "pulls/{name}.csv"\n{AIR}' for build, name in RUN)
    (folder / "session.toml").write_text(PLAIN + TERMS + lines, encoding="utf-8")
    (folder / "pulls").mkdir(exist_ok=True)
    for build, name in RUN[:made]:
        text = pull_text(rng, gain=9.0 if build == "B" else 0.0)
        (folder / "pulls" / f"{name}.csv").write_text(text, encoding="utf-8")


def over(asking: Asking, job: dict[str, Any]) -> dict[str, Any]:
    """The job when it is over."""
    until = time.monotonic() + 120
    while time.monotonic() < until:
        now: dict[str, Any] = asking.get(f"/api/jobs/{job['id']}").json()
        if now["state"] not in {"waiting", "running"}:
            return now
        time.sleep(0.05)
    raise AssertionError("the job did not end")


def section(asking: Asking, session: str, name: str) -> str:
    """One section of a page."""
    page = asking.get(f"/s/{session}").text
    return page[page.index(f'<section id="{name}"') :].partition("</section>")[0]


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_text(encoding="utf-8")
