"""A simulated session as a folder of plain files, so that what is true of it is known behind the whole program."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from noise_model import Simulated

__all__ = ["write_simulated"]

HEADER = """\
[session]
title = "Two builds of a simulated engine"
date = DAY
dyno = "engine"
standard = "none"
received = "observed"

[columns]
speed = "Speed [rpm]"
torque = "Torque [N m]"

[[factor]]
name = "header"
levels = ["4-1", "4-2-1"]

[[build]]
name = "A"
baseline = true
levels = { header = "4-1" }

[[build]]
name = "B"
levels = { header = "4-2-1" }
"""
START = 8 * 3600
RPM_PER_SECOND = 300.0


def write_simulated(folder: Path, simulated: Simulated, day: str = "2026-05-04") -> Path:
    """Write the session file and a table for each pull, as a bench that knows no air and corrects nothing."""
    (folder / "pulls").mkdir(parents=True)
    text = HEADER.replace("DAY", day)
    for pull in simulated.comparison.pulls:
        rows = zip((pull.speed_rpm - pull.speed_rpm[0]) / RPM_PER_SECOND, pull.speed_rpm, pull.torque, strict=True)
        lines = [f"{time:.4f},{speed:.3f},{torque:.4f}" for time, speed, torque in rows]
        file = f"pulls/{pull.name}.csv"
        (folder / file).write_text("Time [s],Speed [rpm],Torque [N m]\n" + "\n".join(lines) + "\n", encoding="utf-8")
        minutes, seconds = divmod(START + round(pull.time), 60)
        clock = f"{minutes // 60:02d}:{minutes % 60:02d}:{seconds:02d}"
        text += f'\n[[pull]]\nbuild = "{pull.build}"\nfile = "{file}"\ntime = {day}T{clock}\n'
    (folder / "session.toml").write_text(text, encoding="utf-8")
    return folder
