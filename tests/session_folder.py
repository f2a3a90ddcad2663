"""Session folders for tests: small, made by a formula of their own, with every number known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

HEADER = """\
[session]
title = "Two headers on a small four"
date = 2026-05-04
dyno = "engine"
standard = "SAE J1349"
received = "observed"

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

CLAIM = """
[[claim]]
id = "more-at-the-top"
says = "The 4-2-1 header is worth at least 2 N m above 4,500 rpm"
of = "B"
from = "A"
quantity = "torque"
where = "4500..6000 rpm"
at_least = "2 N m"
"""


def pull_text(rng: np.random.Generator, gain: float = 0.0, offset: float = 0.4, torque_unit: str = "Nm") -> str:
    """One pull of a 2 litre engine as a bench would write it: 12 s from 2,000 to 6,500 rpm at 20 Hz."""
    time = np.arange(0, 15, 0.05)
    rpm = 2000 + 300 * time + rng.normal(0, 3, time.size)
    torque = 180 - 30 * ((rpm - 4500) / 2500) ** 2 + gain * (rpm - 3500) / 2000
    torque *= 1 + rng.normal(0, offset / 100) + rng.normal(0, 0.4 / 100, time.size)
    scale = {"Nm": 1.0, "lb-ft": 1 / 1.3558179483314}[torque_unit]
    # Rounded before it is converted, so that the two units hold the same pull.
    lines = [f"{t:.2f},{n:.1f},{round(m, 3) * scale:.12g},100.0" for t, n, m in zip(time, rpm, torque, strict=True)]
    return f"Time [s],RPM,Torque [{torque_unit}],Throttle [%]\n" + "\n".join(lines) + "\n"


def pull_entry(build: str, file: str, clock: str = "", **changes: str) -> str:
    """One ``[[pull]]``; a change to an empty text takes the key out."""
    keys = {
        "build": f'"{build}"',
        "file": f'"{file}"',
        "time": clock and f"2026-05-04T{clock}:00",
        "air": '{ temperature = "22.0 degC", pressure = "99.0 kPa", humidity = "45 %" }',
    } | changes
    return "\n[[pull]]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items() if value)


def write_session(
    folder: Path,
    order: str = "AABBAABB",
    *,
    gain: float = 6.0,
    seed: int = 5,
    extra: str = CLAIM,
    torque_unit: str = "Nm",
) -> Path:
    """Write a session with one pull for each letter of `order`; pulls are 6 minutes apart, changes 40."""
    rng = np.random.default_rng(seed)
    (folder / "pulls").mkdir(parents=True)
    text, minutes, before = HEADER, 9 * 60, ""
    for number, build in enumerate(order, start=1):
        minutes += 40 if before and before != build else 6
        before = build
        name = f"pulls/{number:02d}-{build.lower()}.csv"
        (folder / name).write_text(pull_text(rng, gain if build == "B" else 0.0, torque_unit=torque_unit))
        text += pull_entry(build, name, f"{minutes // 60:02d}:{minutes % 60:02d}")
    (folder / "session.toml").write_text(text + extra)
    return folder
