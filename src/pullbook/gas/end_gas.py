"""End gas: temperature of the charge that the flame has not reached, and how long until it ignites by itself.

Kernels raise nothing; NaN gives NaN.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.compiled import kernel
from pullbook.gas.mixture import cv_of, gas_constant

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["end_gas_temperature", "ignition_delay", "two_zones"]

_ATMOSPHERE: Final = 101325.0


@kernel
def ignition_delay(pressure: float, temperature: float, octane: float) -> float:
    r"""Time to self-ignition of the end gas after Douaud and Eyzat.

    .. math:: \tau = 17.68\,\mathrm{ms}\,(ON/100)^{3.402} p_\mathrm{atm}^{-1.7} e^{3800/T}

    Knock is expected when the integral of dt/tau over the compression and burning of the end gas reaches 1 while
    there still is end gas.

    Parameters
    ----------
    pressure : float
        Cylinder pressure. [Pa]
    temperature : float
        Of the end gas. [K]
    octane : float
        Road octane number. [1]

    Returns
    -------
    float
        Delay. [s]

    Notes
    -----
    Fitted between 80 and 100 octane. Onset is met to some degrees of crank angle at best, since the temperature of
    the end gas is not known to better than 20 K; no lead to a safe spark.

    References
    ----------
    .. [1] A. M. Douaud, P. Eyzat, "Four-octane-number method for predicting the anti-knock behavior of fuels and
       engines", SAE paper 780080, 1978; J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988,
       equation 9.61 (from memory).

    Examples
    --------
    >>> round(ignition_delay(40.0 * 101325.0, 850.0, 95.0) * 1e3, 2)
    2.45
    """
    relative = pressure / _ATMOSPHERE
    return float(0.01768 * (0.01 * octane) ** 3.402 * relative**-1.7 * math.exp(3800.0 / temperature))


@kernel
def end_gas_temperature(
    pressure: FloatArray, start: float, table: FloatArray, burned: float, fuel: float
) -> FloatArray:
    r"""Temperature of unburned charge along a pressure trace, compressed without heat.

    .. math:: d\ln T = \frac{R}{c_p(T)}\,d\ln p

    The heat capacity rises with temperature and with fuel vapour: charge of petrol has a ratio of 1.35 at 345 K and
    1.27 at 900 K. A constant 1.33 would make it 45 K too hot at sixty-fold pressure.

    Parameters
    ----------
    pressure : (n,) array of float
        Cylinder pressure. [Pa]
    start : float
        Temperature at the first of them. [K]
    table : (3, 14) array of float
        From `pullbook.gas.components.gas_table`. [J/(kg K), J/kg]
    burned : float
        Mass fraction of burned gas in the charge. [1]
    fuel : float
        Mass fraction of fuel vapour. [1]

    Returns
    -------
    (n,) array of float
        Temperature. [K]

    Notes
    -----
    Second order in the steps of the trace; 0.1 K at steps of 5 per cent of pressure.
    """
    constant = gas_constant(table, burned, fuel)
    found = np.empty(pressure.shape[0])
    found[0] = start
    for i in range(1, pressure.shape[0]):
        before = found[i - 1]
        rise = math.log(pressure[i] / pressure[i - 1])
        middle = before * math.exp(0.5 * rise * constant / (cv_of(table, before, burned, fuel) + constant))
        found[i] = before * math.exp(rise * constant / (cv_of(table, middle, burned, fuel) + constant))
    return found


@kernel
def two_zones(
    pressure: float,
    mean_temperature: float,
    burned_share: float,
    unburned: tuple[float, float, float],
    gas_ratio: float,
) -> tuple[float, float]:
    r"""Temperatures of end gas and burned gas that have the cylinder's pressure and volume together.

    The end gas is compressed isentropically since the spark or since the valve closed,
    :math:`T_u = T_r (p/p_r)^{(\gamma-1)/\gamma}`; the burned zone fills what volume is left:
    :math:`T_b = (T - (1-x)\,\rho_u T_u)/(x\,\rho_b)` with the gas constants over that of the mixture.

    Parameters
    ----------
    pressure : float
        Cylinder pressure. [Pa]
    mean_temperature : float
        Temperature of the single zone, p V / (m R). [K]
    burned_share : float
        Mass that the flame has passed over the mass in the cylinder. [1]
    unburned : tuple of float
        Reference temperature and pressure of the unburned gas, and its heat capacity ratio. [K, Pa, 1]
    gas_ratio : float
        Gas constant of burned over unburned gas, about 1.05. [1]

    Returns
    -------
    tuple of float
        Temperature of the end gas and of the burned gas; the mean temperature for a zone with no mass. [K, K]

    Notes
    -----
    Heat from the end gas to the walls is left out, which makes it some 10 K to 30 K too hot. The burned temperature
    uses the mean gas constant of the charge and is meaningful above a burned share of some per cent.
    """
    reference_temperature, reference_pressure, gamma = unburned
    end_gas = reference_temperature * (pressure / reference_pressure) ** ((gamma - 1.0) / gamma)
    if burned_share <= 0.0:
        return end_gas, mean_temperature
    if burned_share >= 1.0:
        return mean_temperature, mean_temperature
    # R of the mixture over R of the unburned gas.
    mixed = 1.0 + burned_share * (gas_ratio - 1.0)
    burned = (mixed * mean_temperature - (1.0 - burned_share) * end_gas) / (burned_share * gas_ratio)
    return end_gas, burned
