"""Keys of an engine file about friction.

What is usual is from the trade's practice, from memory; the coefficients are those of the common calibration of the
form of Chen and Flynn [1]_, the parts those of the model by components [2]_.

References
----------
.. [1] S. K. Chen, P. F. Flynn, "Development of a single cylinder compression ignition research engine", SAE 650733,
   1965 (form; the coefficients of today's calibration from memory).
.. [2] D. Sandoval, J. B. Heywood, "An improved friction model for spark-ignition engines", SAE 2003-01-0725, 2003
   (what it takes; from memory).
"""

from __future__ import annotations

from typing import Final

from pullbook.engine.engine_key import Key, Kind
from pullbook.engine.friction import VALVETRAINS

__all__ = ["COEFFICIENTS", "FRICTION_KEYS", "PARTS"]

_Q: Final = Kind.QUANTITY
_N: Final = Kind.NUMBER

COEFFICIENTS: Final = ("constant", "by_pressure", "by_speed", "by_speed_squared")
"""Keys that only the formula of Chen and Flynn has."""


def _bearing(name: str, says: str, possible: tuple[float, float], usual: tuple[float, float], why: str) -> Key:
    return Key(name=name, kind=_Q, unit="mm", says=says, possible=possible, usual=usual, why=why)


_PARTS: Final = (
    Key(name="main_bearings", kind=Kind.COUNT, possible=(2, 20), why="one more than the crank has throws",
        says="Main bearings; for components, like those that follow."),
    _bearing("main_diameter", "Diameter of a main bearing.", (5, 300), (35, 75), "0.63 times the bore"),
    _bearing("main_length", "Its length.", (2, 200), (14, 30), "0.24 times the bore"),
    _bearing("rod_diameter", "Diameter of a rod's big end.", (5, 300), (30, 65), "0.55 times the bore"),
    _bearing("rod_length", "Its length.", (2, 200), (13, 30), "0.24 times the bore"),
    Key(name="ring_tension", kind=_N, says="Tension of the piston rings by that of usual rings of the 1980s.",
        possible=(0, 5), usual=(0.4, 1.2), default=1.0, why="the correlation as it is"),
    Key(name="valve_train", kind=Kind.WORD, words=tuple(VALVETRAINS), says="What the cams work on: the valve's tappet, "
        "a finger pivoted at its end or in its middle, or pushrods.",
        why="direct where the rocker ratio is 1; else pushrod of two valves a cylinder, end-pivot of more"),
    Key(name="roller", kind=Kind.FLAG, says="Whether rollers run on the cams.", default=False, why="flat followers"),
    Key(name="cam_bearings", kind=Kind.COUNT, possible=(1, 80), says="Bearings of all camshafts.",
        why="one more than the throws on each camshaft; two camshafts a bank for more than two valves a cylinder"),
    Key(name="oil_viscosity", kind=_N, says="Viscosity of the oil as it is by that of 10W-30 at 90 degC.",
        possible=(0.05, 20), usual=(0.5, 2), default=1.0, why="10W-30 at 90 degC"),
    Key(name="auxiliaries", kind=_N, says="Share of the usual oil pump, water pump and idle alternator that "
        "the engine drives.", possible=(0, 5), usual=(0.3, 1.2), default=1.0, why="all of them"),
)  # fmt: skip
PARTS: Final = tuple(key.name for key in _PARTS)
"""Keys that only the model by components has."""

FRICTION_KEYS: Final[tuple[Key, ...]] = (
    Key(name="model", kind=Kind.WORD, words=("chen-flynn", "components", "barnes-moss"), default="chen-flynn",
        why="usual", says="Formula of the friction. That of Barnes-Moss holds the pumping of a motored engine: pumping "
        "as computed is taken off it, so that brake torque is gross indicated torque less the formula."),
    Key(name="constant", kind=_Q, unit="bar", says="Constant part; for chen-flynn, like the three that follow.",
        possible=(0, 5), usual=(0.1, 0.8), default=0.4, why="today's calibration of the formula"),
    Key(name="by_pressure", kind=_N, says="Part of the peak pressure.", possible=(0, 0.1), usual=(0.003, 0.008),
        default=0.005, why="today's calibration of the formula"),
    Key(name="by_speed", kind=_N, says="Bar for each m/s of mean piston speed.", possible=(0, 1), usual=(0.05, 0.17),
        default=0.09, why="today's calibration of the formula"),
    Key(name="by_speed_squared", kind=_N, says="Bar for each (m/s)2 of mean piston speed.", possible=(0, 0.1),
        usual=(0, 0.002), default=0.0009, why="today's calibration of the formula"),
    Key(name="factor", kind=_N, says="Multiplier of the whole.", possible=(0, 5), usual=(0.7, 1.4), default=1.0,
        why="the formula as it is"),
    *_PARTS,
)  # fmt: skip
"""All keys of the table."""
