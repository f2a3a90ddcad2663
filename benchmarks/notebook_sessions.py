"""Sessions that the benchmark of the notebook opens: the demo, a crowd of builds, and one whose files are to come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.bench.demo import demo_session

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["pull_files", "write_crowd", "write_demo"]

_ROWS: Final = 400
_BUILDS: Final = "ABCDEFGH"
_HEAD: Final = """\
[session]
title = "{title}"
date = 2026-05-04
dyno = "engine"
standard = "none"
received = "observed"
"""


def write_demo(folder: Path) -> None:
    """Write the invented session."""
    for name, content in demo_session().items():
        _write(folder / name, content)


def write_crowd(folder: Path) -> None:
    """Write a session of 8 builds x 3 pulls x 400 rows, in an order that is balanced against drift."""
    rng = np.random.default_rng(7)
    order = [*_BUILDS, *reversed(_BUILDS), *_BUILDS]
    text = _HEAD.format(title="Eight builds")
    for build in _BUILDS:
        text += f'\n[[build]]\nname = "{build}"\n' + ("baseline = true\n" if build == "A" else "")
    for number, build in enumerate(order, start=1):
        name = f"pulls/{number:02}.csv"
        _write(folder / name, _pull(rng, _BUILDS.index(build)))
        clock = f"2026-05-04T{8 + number // 4:02}:{15 * (number % 4):02}:00"
        text += f'\n[[pull]]\nbuild = "{build}"\nfile = "{name}"\ntime = {clock}\n'
    _write(folder / "session.toml", text.encode())


def pull_files(folder: Path, session: Path, count: int) -> list[Path]:
    """Write files of 400 rows, and a session that they are to be given to."""
    rng = np.random.default_rng(8)
    text = _HEAD.format(title="Files to come") + '\n[[build]]\nname = "A"\nbaseline = true\n\n[[build]]\nname = "B"\n'
    _write(session / "session.toml", text.encode())
    paths = [folder / f"run-{number:03}.csv" for number in range(count)]
    for path in paths:
        _write(path, _pull(rng, 0))
    return paths


def _pull(rng: np.random.Generator, build: int) -> bytes:
    """A pull of a 2 litre engine from 2,000 to 6,500 rpm in 400 rows."""
    time = 0.05 * np.arange(_ROWS)
    speed = 2000.0 + 4500.0 * time / time[-1] + rng.normal(0.0, 2.0, _ROWS)
    torque = 180.0 - 30.0 * ((speed - 4500.0) / 2500.0) ** 2 + build * (speed - 3800.0) / 1500.0
    torque *= 1.0 + rng.normal(0.0, 0.004) + rng.normal(0.0, 0.003, _ROWS)
    rows = [f"{t:.2f},{n:.1f},{m:.2f},100.0" for t, n, m in zip(time, speed, torque, strict=True)]
    return ("Time [s],RPM,Torque [Nm],Throttle [%]\n" + "\n".join(rows) + "\n").encode()


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
