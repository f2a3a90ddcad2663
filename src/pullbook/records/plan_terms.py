"""PlanTerms, Costs, ScatterBelief: what a plan rests on, as the tester states it and as it is taken."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["NO_TERMS", "Costs", "PlanTerms", "ScatterBelief"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTerms:
    """What the table ``[plan]`` of a session file states; None where it says nothing.

    Attributes
    ----------
    pull : float or None
        Time that a pull takes, with its pause. [s]
    warm_up, cool_down : float or None
        After each fitting, and before each change. [s]
    together : float or None
        What changes made at once have in common, and is spent once. [s]
    day : float or None
        Length of a day at the bench. [s]
    mean_torque : float or None
        Mean torque over the range, for per cent. [N m]
    peak_power : float or None
        For claims on the peak in kilowatts. [W]
    resolve : float or None
        Smallest difference that matters. [% of torque]
    scatter : mapping of str to float
        Typical sizes by name: ``pull``, ``shape``, ``refit``, ``walk``, ``drift``. [%]
    looks : tuple of int
        Pulls that there were at each look on the way, rising. [1]
    planned : int
        Pulls that were planned when the session was first looked at; 0 where it was not. [1]
    """

    pull: float | None = None
    warm_up: float | None = None
    cool_down: float | None = None
    together: float | None = None
    day: float | None = None
    mean_torque: float | None = None
    peak_power: float | None = None
    resolve: float | None = None
    scatter: Mapping[str, float] = field(default_factory=dict[str, float])
    looks: tuple[int, ...] = ()
    planned: int = 0

    def __post_init__(self) -> None:
        object.__setattr__(self, "scatter", MappingProxyType(dict(self.scatter)))


NO_TERMS: Final = PlanTerms()


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What a session costs in time.

    Attributes
    ----------
    pull, warm_up, cool_down, together, day : float
        As in `PlanTerms`. [s]
    change : mapping of str to float
        Time to change each factor. [s]
    any_change : float
        Time to change the build where it has no factors. [s]
    """

    pull: float
    warm_up: float
    cool_down: float
    together: float
    day: float
    change: Mapping[str, float]
    any_change: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "change", MappingProxyType(dict(self.change)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterBelief:
    """What is believed of the scatter of the bench before the session.

    Each size is log-normal about its typical value.

    Attributes
    ----------
    pull, shape : float
        Level and smooth shape error of one pull, standard deviations. [%]
    refit : float
        Level of a re-fitting. [%]
    refit_shape : float
        Shape error of a re-fitting over that of a pull, standard deviations. [1]
    walk : float
        Random walk. [% / sqrt(h)]
    drift : float
        Linear drift. [%/h]
    white : float
        Noise from sample to sample. [%]
    length_rpm : float
        Correlation length of the shape error. [rpm]
    spread : float
        Standard deviation of the logarithm of each size from session to session. [1]
    spreads : mapping of str to float
        The same of single sources, by their names here, where earlier sessions tell it. [1]
    source : str
        Where this comes from, as a sentence.
    """

    pull: float = 0.4
    shape: float = 0.3
    refit: float = 0.25
    refit_shape: float = 0.5
    walk: float = 0.25
    drift: float = 0.4
    white: float = 0.5
    length_rpm: float = 400.0
    spread: float = 0.3
    spreads: Mapping[str, float] = field(default_factory=dict[str, float])
    source: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "spreads", MappingProxyType(dict(self.spreads)))
