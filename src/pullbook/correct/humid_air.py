"""Moist air: saturation and vapour pressure, dry-air pressure, density, density altitude.

Kernels: arrays in, arrays out, nothing is raised; NaN gives NaN, and so does a temperature outside the range of a
formula. Water is treated as an ideal gas beside the air: the enhancement factor of moist air, which raises the vapour
pressure by about 0.4 per cent of itself (0.005 kPa at 20 degC and 50 per cent), is left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "air_density",
    "density_altitude",
    "humidity_ratio",
    "saturation_pressure",
    "vapour_pressure",
]

# Coefficients n1..n10 of the saturation line, IAPWS-IF97 table 34.
_N: Final = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
_IF97_LOW: Final = 273.15
_IF97_HIGH: Final = 623.15
_MAGNUS_LOW: Final = 228.15

_R_DRY: Final = 287.058  # J/(kg K)
_R_VAPOUR: Final = 461.495  # J/(kg K)
_ISA_TEMPERATURE: Final = 288.15  # K
_ISA_DENSITY: Final = 1.2250  # kg/m3
_ISA_LAPSE: Final = 0.0065  # K/m
_ISA_EXPONENT: Final = 4.25588  # g M / (R L) - 1
_MASS_RATIO: Final = _R_DRY / _R_VAPOUR


def saturation_pressure(temperature: ArrayLike) -> FloatArray:
    r"""Saturation pressure of water over its liquid.

    From 273.15 K to 623.15 K the saturation line of IAPWS-IF97 [1]_, with
    :math:`\vartheta = T + n_9/(T - n_{10})`, :math:`A = \vartheta^2 + n_1\vartheta + n_2`,
    :math:`B = n_3\vartheta^2 + n_4\vartheta + n_5`, :math:`C = n_6\vartheta^2 + n_7\vartheta + n_8`:

    .. math:: p_s = 10^6\,\mathrm{Pa} \left[\frac{2C}{-B + \sqrt{B^2 - 4AC}}\right]^4

    From 228.15 K to 273.15 K, over supercooled water as weather stations count humidity, the Magnus form [2]_
    :math:`611.2\,\exp(17.62\,t/(243.12 + t))` with t in degC.

    Parameters
    ----------
    temperature : array_like of float
        Temperature. [K]

    Returns
    -------
    array of float
        Saturation pressure; NaN outside 228.15 K to 623.15 K. [Pa]

    Notes
    -----
    The verification values of the release are met to 1e-8; other published formulas for weather differ by up to
    0.3 per cent between 0 degC and 50 degC, which moves a correction factor by less than 0.02 per cent. At 273.15 K
    the two branches meet within 0.01 per cent; the cold one is good to 1 per cent down to -30 degC.

    References
    ----------
    .. [1] IAPWS, "Revised Release on the IAPWS Industrial Formulation 1997 for the Thermodynamic Properties of Water
       and Steam", 2007, equation 30 and tables 34 and 35 (tables from memory; reproduced by the ``iapws`` package).
    .. [2] D. Sonntag, "Important new values of the physical constants of 1986, vapour pressure formulations ...",
       Zeitschrift fuer Meteorologie 40, 1990; WMO-No. 8, annex 4.B (from memory).

    Examples
    --------
    >>> float(saturation_pressure(298.15))  # 25 degC
    3169.75
    """
    kelvin = np.asarray(temperature, dtype=np.float64)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        theta = kelvin + _N[8] / (kelvin - _N[9])
        a = (theta + _N[0]) * theta + _N[1]
        b = (_N[2] * theta + _N[3]) * theta + _N[4]
        c = (_N[5] * theta + _N[6]) * theta + _N[7]
        warm = 1e6 * (2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c))) ** 4
        celsius = kelvin - 273.15
        cold = 611.2 * np.exp(17.62 * celsius / (243.12 + celsius))
    is_warm = (kelvin >= _IF97_LOW) & (kelvin <= _IF97_HIGH)
    is_cold = (kelvin >= _MAGNUS_LOW) & (kelvin < _IF97_LOW)
    return np.asarray(np.where(is_warm, warm, np.where(is_cold, cold, np.nan)))


def vapour_pressure(temperature: ArrayLike, humidity: ArrayLike) -> FloatArray:
    """Partial pressure of water vapour: relative humidity times saturation pressure.

    Parameters
    ----------
    temperature : array_like of float
        Air temperature. [K]
    humidity : array_like of float
        Relative humidity. [1]

    Returns
    -------
    array of float
        Vapour pressure; NaN outside 228.15 K to 623.15 K. [Pa]

    Examples
    --------
    >>> float(vapour_pressure(303.15, 0.60))
    2548.0
    """
    return np.asarray(humidity, dtype=np.float64) * saturation_pressure(temperature)


def air_density(temperature: ArrayLike, pressure: ArrayLike, vapour: ArrayLike) -> FloatArray:
    r"""Density of moist air, :math:`\rho = (p - p_v)/(R_d T) + p_v/(R_v T)`.

    Parameters
    ----------
    temperature : array_like of float
        Air temperature. [K]
    pressure : array_like of float
        Total pressure. [Pa]
    vapour : array_like of float
        Vapour pressure. [Pa]

    Returns
    -------
    array of float
        Density. [kg/m3]

    Notes
    -----
    Ideal gases with 287.058 and 461.495 J/(kg K) [1]_; within 0.06 per cent of the real mixture between 0 and 40 degC.

    References
    ----------
    .. [1] ISO 2533, "Standard Atmosphere", 1975 (from memory).

    Examples
    --------
    >>> float(air_density(288.15, 101_325.0, 0.0))
    1.22498
    """
    kelvin = np.asarray(temperature, dtype=np.float64)
    wet = np.asarray(vapour, dtype=np.float64)
    dry = np.asarray(pressure, dtype=np.float64) - wet
    return np.asarray((dry / _R_DRY + wet / _R_VAPOUR) / kelvin)


def density_altitude(density: ArrayLike) -> FloatArray:
    r"""Altitude at which the standard atmosphere has this density.

    .. math:: h = \frac{T_0}{L}\left[1 - (\rho/\rho_0)^{1/4.25588}\right]

    Parameters
    ----------
    density : array_like of float
        Air density. [kg/m3]

    Returns
    -------
    array of float
        Density altitude. [m]

    Notes
    -----
    The troposphere only, that is up to 11 km. A form used by weather offices differs by about 5 m.

    References
    ----------
    .. [1] ISO 2533, "Standard Atmosphere", 1975 (from memory): 288.15 K, 0.0065 K/m, 1.2250 kg/m3.

    Examples
    --------
    >>> round(float(density_altitude(1.10953)))
    1019
    """
    ratio = np.asarray(density, dtype=np.float64) / _ISA_DENSITY
    with np.errstate(invalid="ignore"):
        return np.asarray(_ISA_TEMPERATURE / _ISA_LAPSE * (1.0 - ratio ** (1.0 / _ISA_EXPONENT)))


def humidity_ratio(pressure: ArrayLike, vapour: ArrayLike) -> FloatArray:
    """Mass of water in a mass of dry air, ``0.622 pv / (p - pv)``.

    Parameters
    ----------
    pressure : array_like of float
        Total pressure. [Pa]
    vapour : array_like of float
        Vapour pressure. [Pa]

    Returns
    -------
    array of float
        Humidity ratio; NaN where the vapour pressure reaches the total pressure. [kg/kg]

    Examples
    --------
    >>> float(humidity_ratio(98_000.0, 2548.0))
    0.0166
    """
    wet = np.asarray(vapour, dtype=np.float64)
    dry = np.asarray(pressure, dtype=np.float64) - wet
    return np.asarray(_MASS_RATIO * wet / np.where(dry > 0.0, dry, np.nan))
