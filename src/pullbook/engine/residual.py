"""Residual gas by correlation: to start a cycle with, and to compare a computed residual with."""

from __future__ import annotations

import math

__all__ = ["overlap_factor", "residual_estimate"]


def overlap_factor(overlap_deg: float, bore: float, valve_diameter: float, valve_lift: float) -> float:
    r"""Overlap factor of Fox, Cheng and Heywood.

    .. math:: OF = \frac{1.45}{B}(107 + 7.8\,\Delta\theta + \Delta\theta^2)\frac{L_v D_v}{B^2}, \quad B, L_v, D_v
        \text{ in mm}

    Parameters
    ----------
    overlap_deg : float
        Overlap between 0.15 mm lifts. [deg]
    bore : float
        Bore. [m]
    valve_diameter : float
        Mean of intake and exhaust head diameters. [m]
    valve_lift : float
        Largest lift. [m]

    Returns
    -------
    float
        Overlap factor. [deg/m]

    References
    ----------
    .. [1] J. W. Fox, W. K. Cheng, J. B. Heywood, "A model for predicting residual gas fraction in spark-ignition
       engines", SAE paper 931025, 1993 (from memory).
    """
    scale = 1.45 / (1e3 * bore)
    return scale * (107.0 + 7.8 * overlap_deg + overlap_deg**2) * valve_lift * valve_diameter / bore**2


def residual_estimate(
    speed_rpm: float,
    overlap: float,
    pressures: tuple[float, float],
    compression_ratio: float,
    equivalence: float = 1.0,
) -> float:
    r"""Residual gas fraction after Fox, Cheng and Heywood: to start a cycle with, and to compare with a computed one.

    .. math:: x_r = 1.266\,\frac{OF}{N}\left(\frac{p_i}{p_e}\right)^{-0.87}\sqrt{|p_e-p_i|}
        + 0.632\,\phi\,\frac{(p_i/p_e)^{-0.74}}{r_c}

    Parameters
    ----------
    speed_rpm : float
        Engine speed. [rpm]
    overlap : float
        From `overlap_factor`. [deg/m]
    pressures : tuple of float
        Mean intake and exhaust pressure. [Pa, Pa]
    compression_ratio : float
        Compression ratio. [1]
    equivalence : float
        Fuel-air equivalence ratio. [1]

    Returns
    -------
    float
        Mass fraction. [1]

    Notes
    -----
    Made for part load without tuned pipes (2 to 4 bar, 1000 to 2500 rpm); with strong waves it is only a beginning.

    References
    ----------
    .. [1] J. W. Fox, W. K. Cheng, J. B. Heywood, SAE paper 931025, 1993 (from memory; N in rev/s, p in bar).
    """
    intake, exhaust = pressures
    ratio = intake / exhaust
    back = 1.266 * overlap * 60.0 / speed_rpm * ratio**-0.87 * math.sqrt(1e-5 * abs(exhaust - intake))
    return float(back + 0.632 * equivalence * ratio**-0.74 / compression_ratio)
