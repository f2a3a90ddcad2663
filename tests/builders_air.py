"""Conditions for tests of the standards: one sample in given air."""

from __future__ import annotations

from typing import Any

import numpy as np

from pullbook.correct.humid_air import vapour_pressure
from pullbook.correct.rule import Conditions
from pullbook.records.build import Engine

__all__ = ["conditions"]


def conditions(
    celsius: float, kilopascal: float, humidity: float = 0.0, *, engine: Engine | None = None, **changes: Any
) -> Conditions:
    """One sample at 4000 rpm in air of a temperature, a total pressure and a relative humidity."""
    kelvin = np.array([celsius + 273.15])
    given: dict[str, Any] = {
        "engine": engine or Engine(), "speed_rpm": np.array([4000.0]), "temperature": kelvin,
        "pressure": np.array([kilopascal * 1000.0]), "vapour": vapour_pressure(kelvin, humidity),
        "fuel_flow": np.array([np.nan]), "manifold_pressure": np.array([np.nan]), "where": "a1.csv",
    }  # fmt: skip
    return Conditions(**{**given, **changes})
