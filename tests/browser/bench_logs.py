"""Logs of a small logger beside an engine brake, invented: for machines that the real ones are not beside.

They have what makes the real ones worth walking with: several pulls in one file, between them a running engine, a load
cell that nobody named and that was never calibrated.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["write_logs"]

_STEP: Final = 0.021  # s
_HEAD: Final = "Time (sec),RPM,Air Temp (F),TPS (%),MAP (psi),Measured Lambda #1,Analog #8 (volts),"
_PULLS: Final = {"day-b-run-6": 2, "day-b-three-pulls": 3, "day-b-run-5": 1}


def write_logs(folder: Path) -> Path:
    """Write three logs into a folder, of two, three and one pull."""
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(20260504)
    for name, pulls in _PULLS.items():
        rows = np.concatenate([part for _ in range(pulls) for part in (_idle(rng), _pull(rng))] + [_idle(rng)])
        lines = [
            f"{number * _STEP:.3f},{rpm:.0f},{air:.1f},{throttle:.1f},{pressure:.2f},{mixture:.2f},{load:.3f},"
            for number, (rpm, air, throttle, pressure, mixture, load) in enumerate(rows)
        ]
        (folder / f"{name}.csv").write_text("\n".join([_HEAD, *lines]) + "\n", encoding="utf-8")
    return folder


def _idle(rng: np.random.Generator) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Ten seconds between two pulls."""
    count = 480
    rpm = 2400 + 60 * np.sin(np.arange(count) / 15) + rng.normal(0, 15, count)
    means = ((87, 0.1), (23, 0.2), (12.7, 0.03), (0.93, 0.004))  # air, throttle, pressure, mixture
    steady = [np.full(count, value) + rng.normal(0, sd, count) for value, sd in means]
    return np.column_stack([rpm, *steady, 0.12 + rng.normal(0, 0.01, count)])


def _pull(rng: np.random.Generator) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Four seconds at full throttle, from 6,000 to 14,000 rpm, and a second back."""
    up, back = 190, 60
    rpm = np.concatenate([np.linspace(6000, 14200, up), np.linspace(14200, 2500, back)]) + rng.normal(0, 12, up + back)
    full = np.arange(up + back) < up
    hump = 2.2 - 1.1 * ((rpm - 10500) / 4500) ** 2
    load = np.where(full, hump * (1 + rng.normal(0, 0.01)), 0.1) + rng.normal(0, 0.02, up + back)
    throttle = np.where(full, 96.0, 20.0) + rng.normal(0, 0.2, up + back)
    columns = [87 + rng.normal(0, 0.1, up + back), throttle, 14.1 + rng.normal(0, 0.03, up + back)]
    return np.column_stack([rpm, *columns, 0.88 + rng.normal(0, 0.004, up + back), load])
