"""Rules of the trade: what handbooks say before any wave is computed.

Each is a rule of thumb or the resonance of an idealised pipe. They are here to be set beside the computed engine, not
to size parts by. SI throughout: a rule that was published in inches carries its constant converted exactly.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

__all__ = [
    "area_rule_area",
    "area_rule_speed",
    "bell_primary_bore",
    "bell_primary_length",
    "inlet_mach_index",
    "speed_of_mach_index",
    "taylor_filling",
]

_INCH: Final = 0.0254
_TAYLOR_Z: Final = (0.2, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2)
_TAYLOR_FILLING: Final = (1.00, 0.98, 0.96, 0.93, 0.80, 0.66, 0.56)


def inlet_mach_index(
    bore: float, valve: float, piston_speed: float, flow_coefficient: float, sound_speed: float, valves: int = 1
) -> float:
    r"""Inlet Mach index Z of Taylor.

    .. math:: Z = \frac{b^2 S_p}{n D^2 C_i a}

    Parameters
    ----------
    bore : float
        Bore. [m]
    valve : float
        Head diameter of one inlet valve. [m]
    piston_speed : float
        Mean piston speed. [m/s]
    flow_coefficient : float
        Mean over the open period, on the head area; 0.30 to 0.40. [1]
    sound_speed : float
        At the inlet. [m/s]
    valves : int
        Inlet valves a cylinder.

    Returns
    -------
    float
        Index; filling falls quickly above 0.5 to 0.6. [1]

    References
    ----------
    .. [1] C. F. Taylor, "The Internal-Combustion Engine in Theory and Practice", volume 1, chapter 6 (from memory).

    Examples
    --------
    >>> round(inlet_mach_index(0.1016, 0.0513, 19.15, 0.35, 343.0), 5)
    0.62569
    """
    return (bore / valve) ** 2 * piston_speed / (valves * flow_coefficient * sound_speed)


def speed_of_mach_index(index: float, stroke: float, index_at_unit_speed: float) -> float:
    """Engine speed at which the inlet Mach index reaches a value.

    Parameters
    ----------
    index : float
        Value, 0.5 or 0.6. [1]
    stroke : float
        Stroke. [m]
    index_at_unit_speed : float
        `inlet_mach_index` at a mean piston speed of 1 m/s. [s/m]

    Returns
    -------
    float
        Engine speed. [rpm]
    """
    return 30.0 * index / (index_at_unit_speed * stroke)


def taylor_filling(index: float) -> float:
    """Volumetric efficiency over its best value, by inlet Mach index.

    Parameters
    ----------
    index : float
        From `inlet_mach_index`. [1]

    Returns
    -------
    float
        Share; level outside 0.2 to 1.2. [1]

    References
    ----------
    .. [1] C. F. Taylor, "The Internal-Combustion Engine in Theory and Practice", volume 1, figure 6-13, read by eye
       (from memory, +-0.03).
    """
    return float(np.interp(index, _TAYLOR_Z, _TAYLOR_FILLING))


def bell_primary_length(exhaust_opens_deg: float, speed_rpm: float) -> float:
    r"""Length of a primary pipe by the 850 rule: :math:`L = 850\,(180+EVO)/n - 3` inches.

    Parameters
    ----------
    exhaust_opens_deg : float
        Exhaust opening before bottom dead centre; the rule adds 180 to this, not the duration. [deg]
    speed_rpm : float
        Engine speed at which it is to work. [rpm]

    Returns
    -------
    float
        Length from the port face. [m]

    References
    ----------
    .. [1] A. G. Bell, "Performance Tuning in Theory and Practice: Four Strokes" (from memory).

    Examples
    --------
    >>> round(bell_primary_length(80.0, 6500.0) / 0.0254, 3)
    31.0
    """
    return _INCH * (850.0 * (180.0 + exhaust_opens_deg) / speed_rpm - 3.0)


def bell_primary_bore(cylinder_volume: float, length: float) -> float:
    r"""Inner diameter of a primary: :math:`2.1\sqrt{V_\mathrm{cc}/(25(L+3))}` inches.

    Parameters
    ----------
    cylinder_volume : float
        Swept volume of one cylinder. [m3]
    length : float
        Length of the primary. [m]

    Returns
    -------
    float
        Inner diameter. [m]

    References
    ----------
    .. [1] A. G. Bell, "Performance Tuning in Theory and Practice: Four Strokes" (from memory).
    """
    return _INCH * 2.1 * math.sqrt(1e6 * cylinder_volume / (25.0 * (length / _INCH + 3.0)))


def area_rule_speed(area: float, cylinder_volume: float) -> float:
    """Torque peak that goes with a primary's cross-section: 88200 times square inches over cubic inches.

    It amounts to a mean gas velocity of 245 ft/s at the speed of the piston.

    Parameters
    ----------
    area : float
        Inner cross-section of a primary. [m2]
    cylinder_volume : float
        Swept volume of one cylinder. [m3]

    Returns
    -------
    float
        Engine speed. [rpm]

    References
    ----------
    .. [1] Header builders' practice in the United States (from memory).
    """
    return 88200.0 * _INCH * area / cylinder_volume


def area_rule_area(speed_rpm: float, cylinder_volume: float) -> float:
    """Cross-section of a primary for a torque peak: `area_rule_speed` the other way.

    Parameters
    ----------
    speed_rpm : float
        Torque peak. [rpm]
    cylinder_volume : float
        Swept volume of one cylinder. [m3]

    Returns
    -------
    float
        Inner cross-section. [m2]
    """
    return speed_rpm * cylinder_volume / (88200.0 * _INCH)
