"""Air for tests: conditions of one sample, and pulls corrected in the air of a worked example."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from pullbook.correct.apply import correct_pull
from pullbook.correct.humid_air import vapour_pressure
from pullbook.correct.rule import Conditions
from pullbook.records.build import Engine
from pullbook.records.declaration import Air, Standard

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.corrected import CorrectedPull
    from pullbook.records.pull import Pull

__all__ = ["DIN_WARM", "J1349_WARM", "WARM", "conditions", "constant", "corrected", "steps_of"]

WARM = Air(temperature=303.15, pressure=98_000.0, humidity=0.60)
J1349_WARM = 1.05409  # worked example C, SAE J1349 with 1.180 and 0.18
DIN_WARM = 1.05142  # worked example C, DIN 70020


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


def corrected(pull: Pull, air: Air = WARM, standard: Standard = Standard.SAE_J1349, **changes: Any) -> CorrectedPull:
    """The pull corrected in the air of worked example C, unless told otherwise."""
    return correct_pull(pull, **{"air": air, "engine": Engine(), "standard": standard, **changes})


def steps_of(result: CorrectedPull) -> dict[str, float]:
    """Values of the steps by name."""
    return {step.name: step.value for step in result.steps}


def constant(pull: Pull, value: float) -> FloatArray:
    """Channel of that pull with one value."""
    return np.full(pull.rows.shape, value)
