"""Evidence made by a formula, every number of it known, as the archive keeps it."""

from __future__ import annotations

import base64
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from archive_cases import memory

if TYPE_CHECKING:
    from pullbook.records.archived import SessionMemory

__all__ = ["evidence", "evidence_memory"]


def evidence(  # noqa: PLR0913 - each test changes something else
    gain: float, sd: float = 1.0, *, low: float = 2000.0, high: float = 6000.0, small: float = 0.044,
    big: float = 0.047, base: float = 200.0, held: bool = True, **changes: Any,
) -> dict[str, Any]:  # fmt: skip
    """Gain of the bigger primaries in per cent at every speed, with a doubt that is the same at all speeds at once."""
    grid = np.arange(low, high + 1.0, 50.0)

    def level(name: str, size: float) -> dict[str, Any]:
        size_told = {"name": "primaries", "part": f"{name} header", "kind": "length", "value": size,
                     "written": f"{1000 * size:g} mm"}  # fmt: skip
        return {"level": name, "words": [name, f"{name} header"], "dimensions": [size_told]}

    modes = np.full((1, grid.size), 0.01 * sd * base).astype("<f2")
    effect = {
        "factor": "header", "from": level("small", small), "to": level("big", big), "builds": ["A", "B"],
        "band_factor": 2.5, "gain": [0.01 * gain * base] * grid.size, "base": [base] * grid.size,
        "sd": [0.01 * sd * base] * grid.size,
        "modes": base64.b64encode(modes.tobytes()).decode(),
    }  # fmt: skip
    return {
        "schema": "pullbook.evidence/1", "program": "0.1.0", "dyno": "engine", "standard": "SAE J1349",
        "torque_kind": "measured", "baseline": "A", "displacement": 0.002, "peak_rpm": 4000.0,
        "peak_power": 120_000.0, "windows": [[2000.0, 6000.0]], "grid_rpm": grid.tolist(), "effects": [effect],
        "itself": {"held": held, "windows_held": 3 if held else 1, "windows": 3, "worst": 0.5 if held else 1.4},
        **changes,
    }  # fmt: skip


def evidence_memory(seed: int, told: dict[str, Any] | None, scatter: bytes = b"", **changes: Any) -> SessionMemory:
    """A session that keeps evidence."""
    kept = b"" if told is None else json.dumps(told).encode()
    made = memory(seed, dimensions=(0.044, 0.047), **changes)
    return replace(made, evidence=kept, scatter=scatter)
