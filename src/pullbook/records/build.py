"""Engine, Factor, Build: what stands on the bench."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Build",
    "Dimensioned",
    "Engine",
    "Factor",
    "Ignition",
    "Induction",
    "Part",
]


class Induction(StrEnum):
    """How the engine is charged."""

    NATURAL = "natural"
    SUPERCHARGED = "supercharged"
    TURBOCHARGED = "turbocharged"
    TURBOCHARGED_AIR_COOLED = "turbocharged, air-to-air cooler"
    TURBOCHARGED_WATER_COOLED = "turbocharged, air-to-liquid cooler"


class Ignition(StrEnum):
    """How the mixture is lit."""

    SPARK = "spark"
    COMPRESSION = "compression"


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """What corrections and plausibility checks need to know of the engine.

    Attributes
    ----------
    name : str
        As the tester calls it.
    displacement : float or None
        Swept volume. [m3]
    induction : Induction
        How it is charged.
    ignition : Ignition
        How it is lit.
    strokes : int
        Strokes a cycle, 4 or 2. [1]
    friction : tuple of (float, float)
        Measured friction power: pairs of speed [rpm] and power [W], by rising speed. Empty where not measured.
    mechanical_efficiency : float or None
        Declared mechanical efficiency, for ISO 3046-1. [1]
    boost_controlled : bool
        Boost pressure is held by a controller.
    """

    name: str = ""
    displacement: float | None = None
    induction: Induction = Induction.NATURAL
    ignition: Ignition = Ignition.SPARK
    strokes: int = 4
    friction: tuple[tuple[float, float], ...] = ()
    mechanical_efficiency: float | None = None
    boost_controlled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One thing that is changed, its levels in order, and what a change costs.

    Attributes
    ----------
    name : str
        As the tester calls it.
    levels : tuple of str
        Levels, the first one first.
    change : float or None
        Time that a change costs. [s]
    """

    name: str
    levels: tuple[str, ...]
    change: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimensioned:
    """A number with a unit of any kind.

    Attributes
    ----------
    value : float
        The number. [SI unit of `kind`]
    kind : str
        What it measures, as in "length".
    written : str
        As the tester wrote it.
    """

    value: float
    kind: str
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part with a name of its own, the same one in every session.

    Attributes
    ----------
    name : str
        As it is called on the shelf.
    factor, level : str
        Where it is fitted; empty where it is always fitted.
    dimensions : mapping of str to Dimensioned
        Its dimensions by name.
    """

    name: str
    factor: str = ""
    level: str = ""
    dimensions: Mapping[str, Dimensioned]

    def __post_init__(self) -> None:
        object.__setattr__(self, "dimensions", MappingProxyType(dict(self.dimensions)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """The engine with one set of parts.

    Attributes
    ----------
    name : str
        Short name, as in "A".
    label : str
        Words for the chart, as in "long runners"; empty for the levels joined.
    baseline : bool
        The build that the others are compared with.
    levels : mapping of str to str
        Level of each factor.
    """

    name: str
    label: str = ""
    baseline: bool = False
    levels: Mapping[str, str]

    def __post_init__(self) -> None:
        object.__setattr__(self, "levels", MappingProxyType(dict(self.levels)))
