"""Friction mean effective pressure: Chen and Flynn, Barnes-Moss, and a model by components.

All of them are fits to other engines: +-15 per cent at best for an engine of their kind, more for one that is not. They
move the whole curve, and hardly a difference between two exhausts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pullbook.errors import OutOfRangeError

__all__ = ["VALVETRAINS", "FrictionGeometry", "FrictionParts", "barnes_moss", "chen_flynn", "component_friction"]

_KPA: Final = 1e3
_BAR: Final = 1e5
_PRESSURE_SPEED: Final = 0.0238  # s/m, of the gas load on the rings


def chen_flynn(
    peak_pressure: float,
    piston_speed: float,
    coefficients: tuple[float, float, float, float] = (0.137e5, 0.005, 0.162e5, 0.0),
) -> float:
    r"""Friction mean effective pressure after Chen and Flynn.

    .. math:: c_0 + c_1 p_\mathrm{max} + c_2 S_p + c_3 S_p^2

    Parameters
    ----------
    peak_pressure : float
        Largest cylinder pressure, mean of the cylinders. [Pa]
    piston_speed : float
        Mean piston speed. [m/s]
    coefficients : tuple of float
        Constant, share of the peak pressure, by speed, by its square. The default is the published one, from a
        diesel engine; (0.4e5, 0.005, 0.09e5, 0.0009e5) is in wide use for petrol engines. [Pa, 1, Pa s/m, Pa s2/m2]

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    References
    ----------
    .. [1] S. K. Chen, P. F. Flynn, "Development of a single cylinder compression ignition research engine",
       SAE paper 650733, 1965 (from memory).

    Examples
    --------
    >>> round(chen_flynn(70e5, 8.0) / 1e5, 3)
    1.783
    """
    constant, by_pressure, by_speed, by_square = coefficients
    return constant + by_pressure * peak_pressure + by_speed * piston_speed + by_square * piston_speed**2


def barnes_moss(speed_rpm: float) -> float:
    """Motored total friction of four-stroke car engines of 0.85 to 2 litres, pumping included, throttle open.

    Parameters
    ----------
    speed_rpm : float
        Engine speed, 1000 to 7000. [rpm]

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    Notes
    -----
    It contains pumping: adding a computed pumping mean effective pressure counts that twice.

    References
    ----------
    .. [1] M. O. Barnes-Moss, Institution of Mechanical Engineers C343/73, 1973, as in J. B. Heywood, "Internal
       Combustion Engine Fundamentals", 1988, equation 13.6 (from memory).

    Examples
    --------
    >>> round(barnes_moss(6000.0) / 1e5, 2)
    3.67
    """
    thousands = 1e-3 * speed_rpm
    return _BAR * (0.97 + 0.15 * thousands + 0.05 * thousands**2)


# Valve train: flat follower, roller follower, oscillating hydrodynamic, oscillating mixed (kPa in the units below).
VALVETRAINS: Final = {
    "direct": (200.0, 0.0076, 0.5, 10.7),
    "end-pivot": (600.0, 0.0227, 0.2, 42.8),
    "centre-pivot": (400.0, 0.0151, 0.5, 21.4),
    "pushrod": (400.0, 0.0151, 0.5, 32.1),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionGeometry:
    """What the component model needs to know about an engine.

    Attributes
    ----------
    bore, stroke : float
        Bore and stroke. [m]
    compression_ratio : float
        Largest by smallest volume. [1]
    cylinders : int
        Number of cylinders.
    main_bearings, cam_bearings, valves : int
        How many in the whole engine.
    main_diameter, main_length : float
        Diameter and length of a main bearing. [m]
    rod_diameter, rod_length : float
        Diameter and length of a rod bearing. [m]
    valve_lift : float
        Largest valve lift. [m]
    valvetrain : str
        "direct", "end-pivot", "centre-pivot" or "pushrod".
    roller : bool
        Whether the followers are rollers.
    viscosity : float
        Viscosity of the oil over that at the fit's temperature (10W-30 at 90 degC). [1]
    ring_tension : float
        Tension of the rings over that of the engines of the fit. [1]
    auxiliaries : float
        Share of the usual oil pump, water pump and unloaded alternator that the engine drives. [1]
    """

    bore: float
    stroke: float
    compression_ratio: float
    cylinders: int
    main_bearings: int
    cam_bearings: int
    valves: int
    main_diameter: float
    main_length: float
    rod_diameter: float
    rod_length: float
    valve_lift: float
    valvetrain: str = "direct"
    roller: bool = False
    viscosity: float = 1.0
    ring_tension: float = 1.0
    auxiliaries: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionParts:
    """Friction mean effective pressure by component.

    Attributes
    ----------
    crank, pistons, gas_load, valvetrain, auxiliaries : float
        Share of each. [Pa]
    """

    crank: float
    pistons: float
    gas_load: float
    valvetrain: float
    auxiliaries: float

    @property
    def total(self) -> float:
        """All of them, no pumping. [Pa]."""
        return self.crank + self.pistons + self.gas_load + self.valvetrain + self.auxiliaries


def component_friction(geometry: FrictionGeometry, speed_rpm: float, intake_ratio: float = 1.0) -> FrictionParts:
    """Friction by component, without pumping.

    Parameters
    ----------
    geometry : FrictionGeometry
        Engine.
    speed_rpm : float
        Engine speed. [rpm]
    intake_ratio : float
        Mean intake over ambient pressure. [1]

    Returns
    -------
    FrictionParts
        Mean effective pressure of each component. [Pa]

    Raises
    ------
    OutOfRangeError
        If there are no coefficients for such a valve train.

    Notes
    -----
    +-15 per cent as a band: the coefficients are from memory, and published engines scatter by as much.

    References
    ----------
    .. [1] K. J. Patton, R. G. Nitschke, J. B. Heywood, "Development and evaluation of a friction model for
       spark-ignition engines", SAE paper 890836, 1989 (from memory).
    .. [2] D. Sandoval, J. B. Heywood, "An improved friction model for spark-ignition engines", SAE paper
       2003-01-0725, 2003 (form and coefficients from memory).
    """
    if geometry.valvetrain not in VALVETRAINS:
        raise OutOfRangeError(
            "no such valve train", value=geometry.valvetrain, remedy=f"use one of {', '.join(VALVETRAINS)}"
        )
    bore, stroke = 1e3 * geometry.bore, 1e3 * geometry.stroke  # the fit is in mm, rpm and kPa
    piston_speed = 2.0 * geometry.stroke * speed_rpm / 60.0
    per = bore**2 * stroke * geometry.cylinders
    thin = math.sqrt(geometry.viscosity)
    compression = geometry.compression_ratio
    diameter = 1e3 * geometry.main_diameter
    crank = (
        1.22e5 * diameter / per
        + 3.03e-4 * thin * speed_rpm * diameter**3 * 1e3 * geometry.main_length * geometry.main_bearings / per
        + 1.35e-10 * diameter**2 * speed_rpm**2 * geometry.main_bearings / geometry.cylinders
    )
    rods = (1e3 * geometry.rod_diameter) ** 3 * 1e3 * geometry.rod_length * geometry.cylinders
    pistons = (
        2.94e2 * thin * piston_speed / bore
        + 4.06e4 * geometry.ring_tension * (1.0 + 500.0 / speed_rpm) / bore**2
        + 3.03e-4 * thin * speed_rpm * rods / per
    )
    exponent = 1.33 - 2.0 * _PRESSURE_SPEED * piston_speed
    gas_load = (
        6.89 * intake_ratio * (0.088 * thin * compression + 0.182 * geometry.ring_tension * compression**exponent)
    )
    auxiliaries = geometry.auxiliaries * (8.32 + 1.86e-3 * speed_rpm + 7.45e-7 * speed_rpm**2)
    return FrictionParts(
        crank=_KPA * crank, pistons=_KPA * pistons, gas_load=_KPA * gas_load,
        valvetrain=_KPA * _valvetrain(geometry, speed_rpm), auxiliaries=_KPA * auxiliaries,
    )  # fmt: skip


def _valvetrain(geometry: FrictionGeometry, speed_rpm: float) -> float:
    """Friction of the valve train. [kPa]."""
    bore, stroke = 1e3 * geometry.bore, 1e3 * geometry.stroke
    flat, roller, hydrodynamic, mixed = VALVETRAINS[geometry.valvetrain]
    thin = math.sqrt(geometry.viscosity)
    valves = geometry.valves / (stroke * geometry.cylinders)
    lift = 1e3 * geometry.valve_lift
    slow = 1.0 + 500.0 / speed_rpm
    follower = roller * speed_rpm if geometry.roller else flat * slow
    return float(
        4.12
        + 244.0 * thin * speed_rpm * geometry.cam_bearings / (bore**2 * stroke * geometry.cylinders)
        + follower * valves
        + hydrodynamic * thin * lift**1.5 * speed_rpm**0.5 / bore * valves
        + mixed * slow * lift * valves
    )
