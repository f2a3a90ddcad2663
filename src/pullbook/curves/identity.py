"""Power against torque times speed: whether three columns agree, and which unit is probably wrong."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.units import UNITS

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "AGREES_WITHIN",
    "IdentityFinding",
    "UnitSet",
    "constant_of",
    "fitting_units",
    "identity_points",
    "power_identity",
]

AGREES_WITHIN: Final = 0.005
_FIT: Final = 0.003
# kW with lb ft and PS with N m are 0.28 % apart: columns computed from each other are exact enough to tell.
_EXACT: Final = 0.0005
_EXACT_FROM: Final = 0.002
_USUAL: Final = frozenset({("lb ft", "hp"), ("N m", "kW"), ("N m", "PS"), ("N m", "hp"), ("kgf m", "PS")})
_TORQUE: Final = ("N m", "lb ft", "kgf m", "lb in", "kN m")
_POWER: Final = ("kW", "hp", "PS", "W")
_SPEED: Final = ("rpm", "rad/s", "Hz", "krpm")
_FEWEST: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitSet:
    """Units of the three columns of the identity.

    Attributes
    ----------
    torque, power, speed : str
        Symbols of `pullbook.quantities.units`.
    """

    torque: str = "N m"
    power: str = "W"
    speed: str = "rpm"

    @property
    def constant(self) -> float:
        """Torque times speed over power, in the numbers of these units. [1]."""
        return constant_of(self.torque, self.power, self.speed)


@dataclass(frozen=True, slots=True, kw_only=True)
class IdentityFinding:
    """How far measured power is from measured torque times measured speed.

    Attributes
    ----------
    ratio : float
        Median of power over torque times angular speed; 1 where all three agree. [1]
    worst : float
        Largest departure of a point's ratio from 1. [1]
    spread : float
        Robust standard deviation of the points' ratios about their median. [1]
    points : int
        Points compared. [1]
    stated : UnitSet
        Units in which the columns were read.
    probable : tuple of UnitSet
        Units with which the columns would agree, likeliest first; empty where they agree as stated or no known
        mistake explains the ratio.
    """

    ratio: float
    worst: float
    spread: float
    points: int
    stated: UnitSet
    probable: tuple[UnitSet, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether the median ratio is 1 within half a per cent, and no other units fit far better."""
        return abs(self.ratio - 1.0) <= AGREES_WITHIN and not self.probable

    @property
    def stated_is_usual(self) -> bool:
        """Whether benches write torque and power in the stated pair of units."""
        return (self.stated.torque, self.stated.power) in _USUAL

    @property
    def constant(self) -> float:
        """Torque times speed over power in the numbers of the file: 5252.1, 7023.5 or 9549.3 are usual. [1]."""
        return self.stated.constant / self.ratio

    @property
    def says(self) -> str:
        """The finding as a sentence."""
        if self.agrees:
            off, worst = 100.0 * abs(self.ratio - 1.0), 100.0 * self.worst
            return f"power is torque times speed within {off:.2f} % (worst point {worst:.1f} %)"
        found = (
            f"torque times speed over power is {self.constant:.1f} in the numbers of the file, "
            f"but {self.stated.constant:.1f} belongs to {self.stated.torque} and {self.stated.power}"
        )
        if not self.probable:
            return found + "; no usual mistake of units explains it: one of the two is corrected or scaled alone"
        return found + "; " + " or ".join(self._mistake(units) for units in self.probable)

    def _mistake(self, units: UnitSet) -> str:
        pairs = (
            ("torque", self.stated.torque, units.torque),
            ("power", self.stated.power, units.power),
            ("speed", self.stated.speed, units.speed),
        )
        wrong = " and ".join(f"{what} is probably in {new}, not {old}" for what, old, new in pairs if old != new)
        return f"{wrong} ({units.constant:.1f})"


def constant_of(torque: str, power: str, speed: str = "rpm") -> float:
    r"""Torque times speed over power for numbers in given units.

    :math:`K = f_P / (f_T f_n \pi / 30)`, with the factor :math:`f` of each unit.

    Parameters
    ----------
    torque, power, speed : str
        Symbols of `pullbook.quantities.units`.

    Returns
    -------
    float
        The constant. [1]

    References
    ----------
    .. [1] A. Thompson, B. N. Taylor, NIST Special Publication 811, 2008, appendix B (the exact factors).

    Examples
    --------
    >>> [round(constant_of(*pair), 1) for pair in (("lb ft", "hp"), ("N m", "PS"), ("N m", "kW"))]
    [5252.1, 7023.5, 9549.3]
    """
    return UNITS[power].factor / (UNITS[torque].factor * UNITS[speed].factor * math.pi / 30.0)


def identity_points(speed_rpm: FloatArray, torque: FloatArray, power: FloatArray) -> FloatArray:
    """Ratios of power to torque times angular speed, where all three are large enough to tell.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    torque : (n,) array of float
        Torque. [N m]
    power : (n,) array of float
        Power. [W]

    Returns
    -------
    (k,) array of float
        Ratio at each point with torque above a fifth and power above a tenth of their largest. [1]

    Notes
    -----
    NaN in any of the three leaves the point out.
    """
    finite = np.isfinite(speed_rpm) & np.isfinite(torque) & np.isfinite(power) & (speed_rpm > 0.0)
    if not finite.any():
        return np.empty(0)
    speed_rpm, torque, power = speed_rpm[finite], torque[finite], power[finite]
    large = (torque > 0.2 * torque.max()) & (power > 0.1 * power.max()) & (torque > 0.0) & (power > 0.0)
    ratios: FloatArray = power[large] / (torque[large] * speed_rpm[large] * (math.pi / 30.0))
    return ratios


def power_identity(
    speed_rpm: FloatArray, torque: FloatArray, power: FloatArray, *, stated: UnitSet | None = None
) -> IdentityFinding | None:
    r"""Measured power against measured torque times speed, with the unit that is probably wrong.

    The ratio is :math:`P / (T\, 2 \pi n / 60)`; the constants with which a mistake shows are 5252.1 (lb ft and hp),
    7023.5 (N m and PS) and 9549.3 (N m and kW).

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    torque : (n,) array of float
        Torque as read. [N m]
    power : (n,) array of float
        Power as read. [W]
    stated : UnitSet or None
        Units in which the columns were read, for the naming of the wrong one.

    Returns
    -------
    IdentityFinding or None
        None where fewer than three points can be compared.

    Notes
    -----
    PS and hp differ by 1.4 %, and kW with lb ft differs from PS with N m by 0.3 %: where several mistakes fit
    within the scatter, all are named.

    Examples
    --------
    >>> import numpy as np
    >>> speed, torque = np.array([3000.0, 4000.0, 5000.0]), np.array([200.0, 210.0, 205.0])
    >>> found = power_identity(speed, torque, torque * speed * np.pi / 30 * 1.3558179, stated=UnitSet(power="kW"))
    >>> found.probable[0].torque
    'lb ft'
    """
    stated = stated or UnitSet()
    ratios = identity_points(speed_rpm, torque, power)
    if ratios.size < _FEWEST:
        return None
    ratio = float(np.median(ratios))
    spread = 1.4826 * float(np.median(np.abs(ratios - ratio)))
    probable: tuple[UnitSet, ...] = ()
    if abs(ratio - 1.0) > AGREES_WITHIN:
        doubt = 3.0 * spread / math.sqrt(ratios.size)
        probable = _fewest_changes(fitting_units(stated.constant / ratio, doubt=doubt, stated=stated), stated)
    elif abs(ratio - 1.0) > _EXACT_FROM and spread < _EXACT:
        probable = _fewest_changes(fitting_units(stated.constant / ratio, within=_EXACT, stated=stated), stated)
    return IdentityFinding(
        ratio=ratio,
        worst=float(np.max(np.abs(ratios - 1.0))),
        spread=spread,
        points=int(ratios.size),
        stated=stated,
        probable=probable,
    )


def fitting_units(constant: float, *, doubt: float = 0.0, within: float = _FIT, stated: UnitSet) -> tuple[UnitSet, ...]:
    """Sets of units whose constant is the one found.

    Parameters
    ----------
    constant : float
        Torque times speed over power in the numbers of the file. [1]
    doubt : float
        Relative standard error of it. [1]
    within : float
        Relative difference that counts as a fit where the error is smaller. [1]
    stated : UnitSet
        Units as stated; sets that change torque and power together are offered only if they are usual together.

    Returns
    -------
    tuple of UnitSet
        Nearest first; empty where none fits.
    """
    within = max(within, min(doubt, 4.0 * _FIT))
    near = [
        (abs(constant / units.constant - 1.0), units)
        for units in _sets()
        if abs(constant / units.constant - 1.0) <= within and _credible(units, stated)
    ]
    return tuple(units for _, units in sorted(near, key=lambda pair: pair[0]))


def _sets() -> list[UnitSet]:
    return [UnitSet(torque=t, power=p, speed=s) for s in _SPEED for t in _TORQUE for p in _POWER]


def _changes(units: UnitSet, stated: UnitSet) -> int:
    return (units.torque != stated.torque) + (units.power != stated.power) + (units.speed != stated.speed)


def _credible(units: UnitSet, stated: UnitSet) -> bool:
    """One unit may be wrong; two only from or to a usual pair, with speed as stated."""
    changes = _changes(units, stated)
    usual = {(units.torque, units.power), (stated.torque, stated.power)} & _USUAL
    return changes <= 1 or (units.speed == stated.speed and bool(usual))


def _fewest_changes(found: tuple[UnitSet, ...], stated: UnitSet) -> tuple[UnitSet, ...]:
    if not found:
        return ()
    fewest = min(_changes(units, stated) for units in found)
    return tuple(units for units in found if _changes(units, stated) == fewest)
