"""Flow of valves: from a flow bench's volume flow by lift to discharge coefficients, and on to areas by crank angle.

Coefficients are kept on the curtain area, pi times head diameter times lift, by lift over head diameter. At a quarter
of the diameter the curtain equals the area of the head; a coefficient without its reference area means nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.monotone import monotone_curve
from pullbook.engine.orifice_flow import ideal_mass_flux
from pullbook.errors import OutOfRangeError
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "Bench",
    "DischargeCurve",
    "ValveSize",
    "bench_curve",
    "effective_area",
    "head_area",
    "usual_curve",
]

_AIR: Final = (287.05, 1.4)  # J/(kg K), 1
_THROAT_COEFFICIENT: Final = 0.82  # of a port's throat as an orifice of its own; practice
_MOST_COEFFICIENT: Final = 1.05
# 2.02 in valve on a bench at 28 inches of water: lift over diameter, coefficient on the curtain area.
_USUAL_RATIO: Final = (0.050, 0.099, 0.149, 0.198, 0.248, 0.297)
_USUAL_COEFFICIENT: Final = (0.701, 0.696, 0.675, 0.626, 0.552, 0.475)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """State of the air on a flow bench.

    Attributes
    ----------
    depression : float
        Pressure difference across port and valve. [Pa]
    pressure : float
        Absolute, upstream. [Pa]
    temperature : float
        Upstream. [K]
    """

    depression: float
    pressure: float = 101325.0
    temperature: float = 293.15


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveSize:
    """Valves of one side of a cylinder.

    Attributes
    ----------
    count : int
        How many open together.
    head : float
        Diameter of one head. [m]
    throat : float
        Diameter below one seat. [m]
    stem : float
        Diameter of one stem. [m]
    """

    count: int
    head: float
    throat: float
    stem: float = 0.0

    @property
    def throat_area(self) -> float:
        """Area of all throats less the stems. [m2]."""
        return 0.25 * math.pi * self.count * (self.throat**2 - self.stem**2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DischargeCurve:
    """Discharge coefficient by lift.

    Attributes
    ----------
    lift_ratio : (n,) array of float
        Lift over head diameter, rising. [1]
    coefficient : (n,) array of float
        Discharge coefficient on the curtain area. [1]
    measured : bool
        Whether a bench measured it; a usual curve is assumed otherwise.
    """

    lift_ratio: FloatArray
    coefficient: FloatArray
    measured: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "lift_ratio", frozen_floats(self.lift_ratio))
        object.__setattr__(self, "coefficient", frozen_floats(self.coefficient))


def bench_curve(lifts: ArrayLike, flows: ArrayLike, bench: Bench, valve: ValveSize) -> DischargeCurve:
    r"""Discharge coefficients from a flow-bench table, one direction.

    .. math:: C_D = \frac{Q\,\rho_0}{G\,n\,\pi D L}

    with the compressible mass flux G at the bench's depression.

    Parameters
    ----------
    lifts : (n,) array_like of float
        Valve lifts, rising, above zero. [m]
    flows : (n,) array_like of float
        Volume flow at the upstream state, of all valves together. [m3/s]
    bench : Bench
        Depression and air.
    valve : ValveSize
        Valves that were open.

    Returns
    -------
    DischargeCurve
        Coefficients on the curtain area.

    Raises
    ------
    OutOfRangeError
        If lifts do not rise from above zero, a flow is not above zero, or a coefficient exceeds 1.05.

    Examples
    --------
    >>> valve = ValveSize(count=1, head=0.0513, throat=0.045)
    >>> curve = bench_curve([2.54e-3], [0.029733], Bench(depression=6974.49), valve)
    >>> round(float(curve.coefficient[0]), 3)
    0.701
    """
    lift, flow = np.asarray(lifts, dtype=np.float64), np.asarray(flows, dtype=np.float64)
    if lift.ndim != 1 or lift.shape != flow.shape or not lift.size or not np.isfinite(lift + flow).all():
        raise OutOfRangeError("a flow-bench table takes as many flows as lifts, all numbers")
    if lift[0] <= 0.0 or np.any(np.diff(lift) <= 0.0) or np.any(flow <= 0.0):
        raise OutOfRangeError("lifts of a flow-bench table rise from above zero, and every flow is above zero")
    density = bench.pressure / (_AIR[0] * bench.temperature)
    flux = ideal_mass_flux(bench.pressure, bench.temperature, bench.pressure - bench.depression, *_AIR)
    coefficient = flow * density / (flux * valve.count * math.pi * valve.head * lift)
    if coefficient.max() > _MOST_COEFFICIENT:
        worst = int(coefficient.argmax())
        raise OutOfRangeError(
            f"a discharge coefficient of {coefficient[worst]:.2f} at {lift[worst] * 1e3:g} mm cannot be",
            remedy="check the depression, the head diameter and how many valves were open",
        )
    return DischargeCurve(lift_ratio=lift / valve.head, coefficient=coefficient, measured=True)


def usual_curve() -> DischargeCurve:
    """Discharge coefficients of a good port with one valve, where none were measured.

    Returns
    -------
    DischargeCurve
        Coefficients on the curtain area.

    Notes
    -----
    Ports differ by +-15 per cent at low lift and more at high lift.

    References
    ----------
    .. [1] Typical flow of a 2.02 in inlet valve at 28 inches of water, trade practice; J. B. Heywood, "Internal
       Combustion Engine Fundamentals", 1988, figure 6-19, has the same shape (from memory).
    """
    return DischargeCurve(
        lift_ratio=np.array(_USUAL_RATIO), coefficient=np.array(_USUAL_COEFFICIENT), measured=False
    )  # fmt: skip


def head_area(valve: ValveSize) -> float:
    """Area of all heads, to which flow coefficients of whole ports are often referred.

    Parameters
    ----------
    valve : ValveSize
        Valves.

    Returns
    -------
    float
        Area. [m2]
    """
    return 0.25 * math.pi * valve.count * valve.head**2


def effective_area(curve: DischargeCurve, lift: ArrayLike, valve: ValveSize) -> FloatArray:
    """Discharge coefficient times curtain area of all valves, at given lifts.

    Between measured lifts a monotone cubic of the coefficient; below the first the coefficient is held, above the last
    the area is. A curve that was not measured is also limited to 0.82 of the throat, which a bench would have shown.

    Parameters
    ----------
    curve : DischargeCurve
        Coefficients.
    lift : (m,) array_like of float
        Valve lift, over the crank angle for example. [m]
    valve : ValveSize
        Valves.

    Returns
    -------
    (m,) array of float
        Effective area. [m2]
    """
    at = np.asarray(lift, dtype=np.float64) / valve.head
    ratio, coefficient = curve.lift_ratio, curve.coefficient
    reached = np.minimum(at, ratio[-1])
    if ratio.size > 1:
        found = monotone_curve(ratio, coefficient, np.maximum(reached, ratio[0]))
    else:
        found = np.full(at.shape, coefficient[0])
    area = np.asarray(found * reached * (valve.count * math.pi * valve.head**2), dtype=np.float64)
    return area if curve.measured else np.minimum(area, _THROAT_COEFFICIENT * valve.throat_area)
