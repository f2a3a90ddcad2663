"""Heat from the gas to the cylinder's walls: Woschni, Annand and Hohenberg behind one selector.

Every correlation takes two tuples and gives a film coefficient: ``gas`` is pressure [Pa], temperature [K], volume [m3],
density [kg/m3] and mean wall temperature [K]; ``motion`` is bore [m], mean piston speed [m/s], 1 while a valve is open
and 0 otherwise, and Woschni's added speed [m/s], which is zero but for burning charge. Kernels raise nothing; NaN gives
NaN. The three differ by a factor of up to two in the same state: they were fitted to different
engines, and none is better than +-30 per cent for an engine that it was not fitted to.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, TypeAlias

from pullbook.gas.compiled import kernel

if TYPE_CHECKING:
    WallGas: TypeAlias = tuple[float, float, float, float, float]
    WallMotion: TypeAlias = tuple[float, float, float, float]

__all__ = [
    "ANNAND",
    "HOHENBERG",
    "WOSCHNI",
    "annand_coefficient",
    "annand_film",
    "burning_speed",
    "film_coefficient",
    "gas_conductivity",
    "gas_viscosity",
    "hohenberg_coefficient",
    "motored_pressure",
    "woschni_coefficient",
]

# Values of the selector.
WOSCHNI = 0
ANNAND = 1
HOHENBERG = 2

_ANNAND_SCALE: Final = 0.38  # 0.35 to 0.8 with the intensity of the charge's motion
_ANNAND_RADIATION: Final = 4.3e-9  # W/(m2 K4); spark ignition
_PRANDTL: Final = 0.7
_HEAT_CAPACITY: Final = 1140.67  # J/(kg K), air at 1000 K


@kernel
def gas_viscosity(temperature: float) -> float:
    """Viscosity of air after Sutherland, used for charge and burned gas alike.

    Parameters
    ----------
    temperature : float
        Temperature. [K]

    Returns
    -------
    float
        Dynamic viscosity, 2 per cent up to 1500 K. [Pa s]

    References
    ----------
    .. [1] F. M. White, "Viscous Fluid Flow", table 1-2 (from memory): 1.716e-5 Pa s at 273.15 K, constant 110.4 K.
    """
    relative = temperature / 273.15
    return float(1.716e-5 * relative**1.5 * (273.15 + 110.4) / (temperature + 110.4))


@kernel
def gas_conductivity(temperature: float) -> float:
    """Thermal conductivity that belongs to the viscosity at a Prandtl number of 0.7 and the heat capacity of hot air.

    Parameters
    ----------
    temperature : float
        Temperature. [K]

    Returns
    -------
    float
        Conductivity, 10 per cent between 500 K and 2500 K. [W/(m K)]
    """
    return gas_viscosity(temperature) * _HEAT_CAPACITY / _PRANDTL


@kernel
def motored_pressure(volume: float, reference_pressure: float, reference_volume: float, exponent: float) -> float:
    """Pressure that the cylinder would have at this volume without combustion.

    Parameters
    ----------
    volume : float
        Volume. [m3]
    reference_pressure : float
        Pressure when the inlet valve closed. [Pa]
    reference_volume : float
        Volume at that moment. [m3]
    exponent : float
        Polytropic exponent, 1.30 to 1.35. [1]

    Returns
    -------
    float
        Motored pressure. [Pa]
    """
    return float(reference_pressure * (reference_volume / volume) ** exponent)


@kernel
def burning_speed(swept_volume: float, reference: tuple[float, float, float], pressure: float, motored: float) -> float:
    r"""Gas speed that Woschni adds for the burning charge.

    .. math:: 3.24\cdot10^{-3}\,\frac{V_d T_r}{p_r V_r}(p - p_m)

    Parameters
    ----------
    swept_volume : float
        Swept volume of the cylinder. [m3]
    reference : tuple of float
        Pressure, volume and temperature when the inlet valve closed. [Pa, m3, K]
    pressure : float
        Cylinder pressure. [Pa]
    motored : float
        Pressure without combustion at the same volume. [Pa]

    Returns
    -------
    float
        Added speed, not below zero. [m/s]

    References
    ----------
    .. [1] G. Woschni, SAE paper 670931, 1967; J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988,
       equation 12.18 (from memory).
    """
    excess = pressure - motored
    if excess <= 0.0:
        return 0.0
    return 3.24e-3 * swept_volume * reference[2] / (reference[0] * reference[1]) * excess


@kernel
def woschni_coefficient(gas: WallGas, motion: WallMotion) -> float:
    r"""Film coefficient after Woschni, 1967.

    .. math:: h = 3.26\,B^{-0.2} p_\mathrm{kPa}^{0.8} T^{-0.55} w^{0.8}, \quad w = C_1 S_p + w_\mathrm{burning}

    with :math:`C_1 = 6.18` while a valve is open and 2.28 otherwise.

    Parameters
    ----------
    gas : tuple of float
        Pressure, temperature, volume, density and wall temperature. [Pa, K, m3, kg/m3, K]
    motion : tuple of float
        Bore, mean piston speed, 1 while a valve is open, added speed. [m, m/s, 1, m/s]

    Returns
    -------
    float
        Film coefficient. [W/(m2 K)]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equations 12.17 to 12.19 (from memory).

    Examples
    --------
    >>> round(woschni_coefficient((100e3, 400.0, 5e-4, 1.0, 400.0), (0.1, 10.0, 1.0, 0.0)), 3)
    206.479
    """
    speed = (2.28 + 3.9 * motion[2]) * motion[1] + motion[3]
    # One exponential for three powers.
    return 3.26 * math.exp(0.8 * math.log(1e-3 * gas[0] * speed) - 0.2 * math.log(motion[0]) - 0.55 * math.log(gas[1]))


@kernel
def annand_film(bore: float, reynolds: float, conductivity: float) -> float:
    r"""Convective part of Annand's coefficient, :math:`h = 0.38\,(k/B)\,Re^{0.7}`.

    Parameters
    ----------
    bore : float
        Bore. [m]
    reynolds : float
        Density times mean piston speed times bore over viscosity. [1]
    conductivity : float
        Of the gas. [W/(m K)]

    Returns
    -------
    float
        Film coefficient. [W/(m2 K)]

    References
    ----------
    .. [1] W. J. D. Annand, "Heat transfer in the cylinders of reciprocating internal combustion engines",
       Proc. Inst. Mech. Engrs 177, 1963 (from memory): scale 0.35 to 0.8.
    """
    return float(_ANNAND_SCALE * conductivity / bore * reynolds**0.7)


@kernel
def annand_coefficient(gas: WallGas, motion: WallMotion) -> float:
    r"""Film coefficient after Annand, with radiation while the charge burns.

    .. math:: h = 0.38\,\frac{k}{B} Re^{0.7} + 4.3\cdot10^{-9}\,(T^2+T_w^2)(T+T_w)

    Parameters
    ----------
    gas : tuple of float
        Pressure, temperature, volume, density and wall temperature. [Pa, K, m3, kg/m3, K]
    motion : tuple of float
        Bore, mean piston speed, 1 while a valve is open, added speed; radiation counts while the last is above zero.
        [m, m/s, 1, m/s]

    Returns
    -------
    float
        Film coefficient. [W/(m2 K)]

    References
    ----------
    .. [1] W. J. D. Annand, "Heat transfer in the cylinders of reciprocating internal combustion engines",
       Proc. Inst. Mech. Engrs 177, 1963 (from memory).
    """
    reynolds = gas[3] * motion[1] * motion[0] / gas_viscosity(gas[1])
    convective = annand_film(motion[0], reynolds, gas_conductivity(gas[1]))
    if motion[3] <= 0.0:
        return convective
    return convective + _ANNAND_RADIATION * (gas[1] * gas[1] + gas[4] * gas[4]) * (gas[1] + gas[4])


@kernel
def hohenberg_coefficient(gas: WallGas, motion: WallMotion) -> float:
    r"""Film coefficient after Hohenberg, 1979.

    .. math:: h = 130\,V^{-0.06} p_\mathrm{bar}^{0.8} T^{-0.4} (S_p + 1.4)^{0.8}

    Parameters
    ----------
    gas : tuple of float
        Pressure, temperature, volume, density and wall temperature. [Pa, K, m3, kg/m3, K]
    motion : tuple of float
        Bore, mean piston speed, 1 while a valve is open, added speed; only the second is used. [m, m/s, 1, m/s]

    Returns
    -------
    float
        Film coefficient. [W/(m2 K)]

    References
    ----------
    .. [1] G. F. Hohenberg, "Advanced approaches for heat transfer calculations", SAE paper 790825, 1979 (from memory).

    Examples
    --------
    >>> round(hohenberg_coefficient((10e5, 1000.0, 5e-4, 1.0, 400.0), (0.1, 10.0, 0.0, 0.0)), 3)
    572.175
    """
    return float(130.0 * gas[2] ** -0.06 * (1e-5 * gas[0] * (motion[1] + 1.4)) ** 0.8 * gas[1] ** -0.4)


@kernel
def film_coefficient(model: int, gas: WallGas, motion: WallMotion) -> float:
    """Film coefficient by the chosen correlation.

    Parameters
    ----------
    model : int
        `WOSCHNI`, `ANNAND` or `HOHENBERG`.
    gas : tuple of float
        Pressure, temperature, volume, density and wall temperature. [Pa, K, m3, kg/m3, K]
    motion : tuple of float
        Bore, mean piston speed, 1 while a valve is open, added speed. [m, m/s, 1, m/s]

    Returns
    -------
    float
        Film coefficient; NaN for any other selector. [W/(m2 K)]
    """
    if model == WOSCHNI:
        return woschni_coefficient(gas, motion)
    if model == ANNAND:
        return annand_coefficient(gas, motion)
    if model == HOHENBERG:
        return hohenberg_coefficient(gas, motion)
    return math.nan
