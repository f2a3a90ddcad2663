"""How long the charge burns, when it has to be lit, and how completely it burns.

The duration is that of a reference charge times a ratio of laminar flame speeds, piston speeds and viscosities. The
reference, 24 degrees for 10 to 90 per cent, is a usual value at full load and 10 m/s and not a property of any engine:
chamber shape and tumble move it by +-25 per cent (`turbulence`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.gas.burn import (
    ETHANOL_FLAME,
    ISO_OCTANE_FLAME,
    METHANOL_FLAME,
    PETROL_FLAME,
    duration_factor,
    flame_speed_gulder,
    flame_speed_keck,
)
from pullbook.gas.wall_heat import gas_viscosity

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.gas.burn import FlameState

__all__ = [
    "REFERENCE_CHARGE",
    "Timing",
    "burn_factor",
    "charge_at",
    "combustion_efficiency",
    "flame_of",
    "timing_of_ca50",
    "timing_of_spark",
    "wiebe_angle",
]

# Pressure, unburned temperature, equivalence ratio, burned mole fraction at the spark; full load, piston at 10 m/s.
REFERENCE_CHARGE: Final = (15e5, 700.0, 1.14, 0.06)
_REFERENCE_SPEED: Final = 10.0  # m/s
_REFERENCE_MAIN_DEG: Final = 24.0  # 10 to 90 per cent burned
_REFERENCE_DELAY_DEG: Final = 6.0  # from the spark to the start of the Wiebe function
_GAS_CONSTANT: Final = 285.0  # J/(kg K), unburned charge
# Flame and whether Gulder measured it, by fuel; blends burn as what most of them is, toluene about as iso-octane.
_FLAMES: Final = {
    "iso-octane": (ISO_OCTANE_FLAME, False),
    "toluene": (ISO_OCTANE_FLAME, False),
    "ethanol": (ETHANOL_FLAME, True),
    "E85": (ETHANOL_FLAME, True),
    "methanol": (METHANOL_FLAME, True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """When the charge is lit and how it burns.

    Attributes
    ----------
    spark_deg : float
        Spark after top dead centre of firing, so mostly negative. [deg]
    start_deg : float
        Start of the Wiebe function. [deg]
    duration_deg : float
        Its duration. [deg]
    half_burned_deg : float
        Where it has burned half. [deg]
    """

    spark_deg: float
    start_deg: float
    duration_deg: float
    half_burned_deg: float


def wiebe_angle(burned: float, efficiency: float, form: float) -> float:
    r"""Share of the duration after which a share of the fuel has burned, :math:`(-\ln(1-x)/a)^{1/(m+1)}`.

    Parameters
    ----------
    burned : float
        Burned share x, below 1. [1]
    efficiency : float
        a of the Wiebe function. [1]
    form : float
        m of the Wiebe function. [1]

    Returns
    -------
    float
        Share of the duration. [1]

    Examples
    --------
    >>> round(wiebe_angle(0.5, 5.0, 2.0), 6)
    0.517549
    """
    return float((-math.log1p(-burned) / efficiency) ** (1.0 / (form + 1.0)))


def charge_at(
    closing: tuple[float, float, float], volume: float, equivalence: float, residual: float, exponent: float = 1.33
) -> FlameState:
    """Charge at the spark, compressed polytropically since the inlet valve closed.

    Parameters
    ----------
    closing : tuple of float
        Pressure, volume and temperature when the inlet valve closed. [Pa, m3, K]
    volume : float
        Volume at the spark. [m3]
    equivalence : float
        Fuel-air equivalence ratio, 1 over lambda. [1]
    residual : float
        Mass fraction of burned gas, taken for the mole fraction (they differ by some per cent of it). [1]
    exponent : float
        Polytropic exponent. [1]

    Returns
    -------
    tuple of float
        Pressure, temperature, equivalence ratio, burned fraction. [Pa, K, 1, 1]

    Examples
    --------
    >>> pressure, temperature, _, _ = charge_at((1e5, 5e-4, 350.0), 6.25e-5, 1.1, 0.05)
    >>> round(pressure / 1e5, 2), round(temperature)
    (15.89, 695)
    """
    squeeze = closing[1] / volume
    return closing[0] * squeeze**exponent, closing[2] * squeeze ** (exponent - 1.0), equivalence, residual


def flame_of(fuel: str) -> tuple[int, bool]:
    """Flame of a fuel, as `burn_factor` takes it.

    Parameters
    ----------
    fuel : str
        Name in `pullbook.gas.fuels.FUELS`; any other burns like petrol.

    Returns
    -------
    tuple of (int, bool)
        Selector of `pullbook.gas.burn`, and whether the flame speed is Gulder's.

    Examples
    --------
    >>> flame_of("petrol") == (PETROL_FLAME, False)
    True
    """
    return _FLAMES.get(fuel, (PETROL_FLAME, False))


def burn_factor(
    charge: FlameState, piston_speed: float, flame: tuple[int, bool] = (PETROL_FLAME, False), turbulence: float = 1.0
) -> float:
    """Burn duration of a charge over that of the reference charge, which is petrol's at 10 m/s.

    Parameters
    ----------
    charge : tuple of float
        Pressure, temperature, equivalence ratio and burned mole fraction at the spark. [Pa, K, 1, 1]
    piston_speed : float
        Mean piston speed. [m/s]
    flame : tuple of (int, bool)
        From `flame_of`: selector of the fuel, and flame speed after Gulder instead of Metghalchi and Keck. The
        reference is taken from the same author; Gulder's is that of iso-octane.
    turbulence : float
        Velocity fluctuations at equal piston speed, over those of the reference. [1]

    Returns
    -------
    float
        Factor on all angles of burning. [1]

    References
    ----------
    .. [1] S. D. Hires, R. J. Tabaczynski, J. M. Novak, SAE paper 780232, 1978 (from memory), see
       `pullbook.gas.burn.duration_factor`.

    Examples
    --------
    >>> round(burn_factor(REFERENCE_CHARGE, 10.0), 6)
    1.0
    """
    fuel, gulder = flame
    speed: Callable[[FlameState, int], float] = flame_speed_gulder if gulder else flame_speed_keck
    relative = speed(charge, fuel) / speed(REFERENCE_CHARGE, PETROL_FLAME)
    thickness = _kinematic(charge) / _kinematic(REFERENCE_CHARGE)
    return duration_factor(relative, piston_speed / _REFERENCE_SPEED, thickness, turbulence)


def timing_of_ca50(factor: float, shape: tuple[float, float], ca50_deg: float) -> Timing:
    """Spark, start and duration that put the half-burned charge at a wanted angle.

    Parameters
    ----------
    factor : float
        From `burn_factor`, times the engine's own multiplier. [1]
    shape : tuple of float
        a and m of the Wiebe function. [1, 1]
    ca50_deg : float
        Half burned after top dead centre; best torque is near 8. [deg]

    Returns
    -------
    Timing
        Angles.

    Examples
    --------
    >>> timing = timing_of_ca50(1.0, (5.0, 2.0), 8.0)
    >>> round(timing.start_deg, 2), round(timing.duration_deg, 2), round(timing.spark_deg, 2)
    (-17.04, 48.38, -23.04)
    """
    duration, delay = _angles(factor, shape)
    start = ca50_deg - wiebe_angle(0.5, *shape) * duration
    return Timing(spark_deg=start - delay, start_deg=start, duration_deg=duration, half_burned_deg=ca50_deg)


def timing_of_spark(factor: float, shape: tuple[float, float], spark_deg: float) -> Timing:
    """Start and duration after a spark that is held.

    Parameters
    ----------
    factor : float
        From `burn_factor`, times the engine's own multiplier. [1]
    shape : tuple of float
        a and m of the Wiebe function. [1, 1]
    spark_deg : float
        Spark after top dead centre, so mostly negative. [deg]

    Returns
    -------
    Timing
        Angles.

    Examples
    --------
    >>> timing_of_spark(1.5, (5.0, 2.0), -20.0).start_deg
    -11.0
    """
    duration, delay = _angles(factor, shape)
    start = spark_deg + delay
    half = start + wiebe_angle(0.5, *shape) * duration
    return Timing(spark_deg=spark_deg, start_deg=start, duration_deg=duration, half_burned_deg=half)


def _angles(factor: float, shape: tuple[float, float]) -> tuple[float, float]:
    """Duration, and delay from the spark to the start of the Wiebe function. [deg]."""
    main = wiebe_angle(0.9, *shape) - wiebe_angle(0.1, *shape)
    return _REFERENCE_MAIN_DEG * factor / main, _REFERENCE_DELAY_DEG * factor


def combustion_efficiency(residual: float, lambda_: float) -> float:
    """Share of the heat that could be released which is.

    98 per cent, less the partial burning of charges with much residual or little fuel. What a rich mixture has no air
    for is counted elsewhere, in the energy of the burned gas.

    Parameters
    ----------
    residual : float
        Mass fraction of burned gas in the charge. [1]
    lambda_ : float
        Air over the air that burns the fuel completely. [1]

    Returns
    -------
    float
        Share, at least 0.5. [1]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, figure 3-9 and section 9.3 (level and limits
       from memory; the parabolas are ours).

    Examples
    --------
    >>> combustion_efficiency(0.05, 0.88)
    0.98
    """
    partial = 4.0 * max(residual - 0.20, 0.0) ** 2 + 3.0 * max(lambda_ - 1.25, 0.0) ** 2
    return max(0.98 * (1.0 - partial), 0.5)


def _kinematic(charge: FlameState) -> float:
    return gas_viscosity(charge[1]) * _GAS_CONSTANT * charge[1] / charge[0]
