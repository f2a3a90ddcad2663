"""Lossless flow through an orifice, and the arithmetic of flow benches."""

from __future__ import annotations

import math

__all__ = ["at_depression", "critical_ratio", "ideal_mass_flux"]


def critical_ratio(gamma: float) -> float:
    """Throat over stagnation pressure below which the flow is choked.

    Parameters
    ----------
    gamma : float
        Heat capacity ratio. [1]

    Returns
    -------
    float
        Ratio. [1]

    Examples
    --------
    >>> round(critical_ratio(1.4), 6)
    0.528282
    """
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))


def ideal_mass_flux(
    pressure: float, temperature: float, throat_pressure: float, gas_constant: float = 287.05, gamma: float = 1.4
) -> float:
    r"""Mass flux through a lossless orifice, choked or not.

    .. math:: G = \frac{p_0}{\sqrt{R T_0}}\left(\frac{p_T}{p_0}\right)^{1/\gamma}
        \sqrt{\frac{2\gamma}{\gamma-1}\left[1-\left(\frac{p_T}{p_0}\right)^{(\gamma-1)/\gamma}\right]}

    Below the critical ratio the throat stays at that ratio.

    Parameters
    ----------
    pressure : float
        Stagnation pressure upstream. [Pa]
    temperature : float
        Stagnation temperature upstream. [K]
    throat_pressure : float
        Static pressure at the throat, not above the upstream one. [Pa]
    gas_constant : float
        Gas constant. [J/(kg K)]
    gamma : float
        Heat capacity ratio. [1]

    Returns
    -------
    float
        Mass flux; zero without a pressure difference. [kg/(m2 s)]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, appendix C, equations C.8 and C.9.

    Examples
    --------
    >>> round(0.6 * math.pi * 0.040 * 0.010 * ideal_mass_flux(100e3, 300.0, 90e3), 6)
    0.108575
    """
    ratio = min(max(throat_pressure / pressure, critical_ratio(gamma)), 1.0)
    drop = 2.0 * gamma / (gamma - 1.0) * (1.0 - ratio ** ((gamma - 1.0) / gamma))
    return float(pressure / math.sqrt(gas_constant * temperature) * ratio ** (1.0 / gamma) * math.sqrt(drop))


def at_depression(flow: float, depression: float, wanted: float) -> float:
    """Volume flow at another depression, by the square root.

    Parameters
    ----------
    flow : float
        As measured. [m3/s]
    depression : float
        At which it was measured. [Pa]
    wanted : float
        At which it is wanted. [Pa]

    Returns
    -------
    float
        Volume flow. [m3/s]

    Notes
    -----
    Incompressible: 1 per cent too much from 10 to 28 inches of water; whether the flow separates at one depression and
    not at the other, no formula knows.

    Examples
    --------
    >>> round(at_depression(200.0, 10.0, 28.0), 2)
    334.66
    """
    return flow * math.sqrt(wanted / depression)
