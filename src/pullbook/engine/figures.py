"""Figures by which engines of any size are compared: mean pressures, piston speed, air and fuel by work."""

from __future__ import annotations

import math

__all__ = [
    "brake_efficiency",
    "brake_mean_pressure",
    "full_air_flow",
    "mean_piston_speed",
    "power_of_air",
]


def brake_mean_pressure(torque: float, displacement: float) -> float:
    r"""Brake mean effective pressure of a four-stroke engine, :math:`4\pi T/V_d`.

    Parameters
    ----------
    torque : float
        Brake torque. [N m]
    displacement : float
        Of the whole engine. [m3]

    Returns
    -------
    float
        Mean pressure. [Pa]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equation 2.20.

    Examples
    --------
    >>> round(brake_mean_pressure(200.0, 2e-3) / 1e5, 4)
    12.5664
    """
    return 4.0 * math.pi * torque / displacement


def mean_piston_speed(stroke: float, speed_rpm: float) -> float:
    """Mean piston speed: two strokes a turn.

    Parameters
    ----------
    stroke : float
        Stroke. [m]
    speed_rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Speed. [m/s]

    Examples
    --------
    >>> round(mean_piston_speed(0.0866, 6000.0), 3)
    17.32
    """
    return stroke * speed_rpm / 30.0


def full_air_flow(displacement: float, speed_rpm: float, density: float = 1.0) -> float:
    """Air of a four-stroke engine at a volumetric efficiency of 1.

    Parameters
    ----------
    displacement : float
        Of the whole engine. [m3]
    speed_rpm : float
        Engine speed. [rpm]
    density : float
        Of the air that the efficiency refers to; 1 gives the volume flow. [kg/m3]

    Returns
    -------
    float
        Mass flow, or volume flow in m3/s for a density of 1. [kg/s]

    Examples
    --------
    >>> round(full_air_flow(5.735e-3, 5500.0, 1.184), 5)
    0.31122
    """
    return density * displacement * speed_rpm / 120.0


def brake_efficiency(specific_consumption: float, heating_value: float) -> float:
    """Work over the heating value of the fuel.

    Parameters
    ----------
    specific_consumption : float
        Fuel by work. [kg/J]
    heating_value : float
        Lower heating value. [J/kg]

    Returns
    -------
    float
        Efficiency. [1]

    Examples
    --------
    >>> round(brake_efficiency(250e-3 / 3.6e6, 43.5e6), 5)
    0.33103
    """
    return 1.0 / (specific_consumption * heating_value)


def power_of_air(density: float, air_per_fuel: float, specific_consumption: float) -> float:
    """Power that a unit volume flow of air feeds.

    Parameters
    ----------
    density : float
        Of the air. [kg/m3]
    air_per_fuel : float
        Air-fuel ratio by mass. [1]
    specific_consumption : float
        Fuel by work. [kg/J]

    Returns
    -------
    float
        Power over volume flow. [J/m3]

    Examples
    --------
    >>> round(power_of_air(1.225, 12.5, 250e-3 / 3.6e6) / 1e6, 3)
    1.411
    """
    return density / (air_per_fuel * specific_consumption)
