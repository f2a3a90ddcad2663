"""One cylinder over one step: mass and energy by exact bookkeeping, pressure by the midpoint rule.

State of all cylinders: an array (4, n) with the rows `MASS`, `ENERGY` (internal, sensible), `BURNED` and `FUEL`, in kg
and J. What passes the valves is handed in as amounts over the step, so that whatever leaves a pipe enters the cylinder
to the last digit. Everything else about a cylinder is in one array (19, n), made by `cylinder_settings`.

Burning turns fuel vapour and its air into the burned gas of the run's mixture; energy is released per mass of fuel.
What a rich mixture leaves as carbon monoxide and hydrogen is in that figure and in the composition of the burned gas.
Above 1500 K that gas is in equilibrium where a table of dissociation is handed in, and frozen where none is; the energy
is booked alike. Kernels raise nothing; a state that has gone wrong gives NaN or a pressure that is not
positive, for the caller to stop at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from pullbook.gas.compiled import kernel
from pullbook.gas.cylinder_settings import (
    AIR_PER_FUEL,
    BORE,
    CLEARANCE_VOLUME,
    CLOSING_PRESSURE,
    CLOSING_TEMPERATURE,
    CLOSING_VOLUME,
    CROWN_AREA,
    CROWN_TEMPERATURE,
    FUEL_ENERGY,
    HEAD_AREA,
    HEAD_TEMPERATURE,
    HEAT_FACTOR,
    HEAT_MODEL,
    LAST_POWER,
    LAST_TEMPERATURE,
    LINER_TEMPERATURE,
    MOTORED_EXPONENT,
    PISTON_SPEED,
    SWEPT_VOLUME,
)
from pullbook.gas.dissociation import burning_thermal
from pullbook.gas.mixture import energy_of, gas_constant, thermal
from pullbook.gas.wall_heat import burning_speed, film_coefficient, motored_pressure

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

    Amounts: TypeAlias = tuple[float, float, float, float]
    CylinderStep: TypeAlias = tuple[float, float, float, float, int]

__all__ = [
    "BURNED",
    "ENERGY",
    "EXCHANGE",
    "EXPANSION",
    "FUEL",
    "MASS",
    "SEALED",
    "advance_cylinder",
    "cylinder_gas",
    "fill_cylinder",
    "move_cylinder",
    "note_closing",
]

# Rows of the state.
MASS = 0
ENERGY = 1
BURNED = 2
FUEL = 3

# Phases of a step, for the heat to the walls.
SEALED = 0  # valves closed, not yet burning
EXCHANGE = 1  # a valve is open
EXPANSION = 2  # valves closed, burning or burned


@kernel
def fill_cylinder(
    state: FloatArray, k: int, conditions: tuple[float, float, float, float], volume: float, table: FloatArray
) -> None:
    """Set the state of a cylinder from pressure, temperature and composition.

    Parameters
    ----------
    state : (4, n) array of float
        Mass, energy, burned and fuel mass; column k is written. [kg, J, kg, kg]
    k : int
        Cylinder.
    conditions : tuple of float
        Pressure, temperature, burned and fuel mass fraction. [Pa, K, 1, 1]
    volume : float
        Volume. [m3]
    table : (3, 14) array of float
        From `pullbook.gas.components.gas_table`. [J/(kg K), J/kg]
    """
    pressure, temperature, burned, fuel = conditions
    mass = pressure * volume / (gas_constant(table, burned, fuel) * temperature)
    state[MASS, k] = mass
    state[ENERGY, k] = mass * energy_of(table, temperature, burned, fuel)
    state[BURNED, k] = mass * burned
    state[FUEL, k] = mass * fuel


@kernel
def cylinder_gas(
    state: FloatArray,
    k: int,
    volume: float,
    settings: FloatArray,
    table: FloatArray,
    dissociation: FloatArray | None = None,
) -> tuple[float, float, float, float]:
    """Pressure, temperature, gas constant and heat capacity ratio of a cylinder.

    Parameters
    ----------
    state : (4, n) array of float
        Mass, energy, burned and fuel mass. [kg, J, kg, kg]
    k : int
        Cylinder.
    volume : float
        Volume. [m3]
    settings : (19, n) array of float
        From `cylinder_settings`; the temperature found is kept there to start the next search. [rows]
    table : (3, 14) array of float
        From `pullbook.gas.components.gas_table`. [J/(kg K), J/kg]
    dissociation : (21, 51, 4) array of float or None
        From `pullbook.gas.dissociation.dissociation_table`. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]

    Returns
    -------
    tuple of float
        Pressure, temperature, gas constant, heat capacity ratio. [Pa, K, J/(kg K), 1]
    """
    mass = state[MASS, k]
    energy, burned, fuel = state[ENERGY, k] / mass, state[BURNED, k] / mass, state[FUEL, k] / mass
    guess = settings[LAST_TEMPERATURE, k]
    if dissociation is None:
        temperature, constant, gamma = thermal(table, energy, burned, fuel, guess)
    else:
        contents = burned, fuel, mass / volume
        temperature, constant, gamma = burning_thermal(table, dissociation, energy, contents, guess)
    settings[LAST_TEMPERATURE, k] = temperature
    return mass * constant * temperature / volume, temperature, constant, gamma


@kernel
def note_closing(
    state: FloatArray,
    k: int,
    volume: float,
    settings: FloatArray,
    table: FloatArray,
    dissociation: FloatArray | None = None,
) -> None:
    """Remember pressure, volume and temperature at the moment the inlet valve closes.

    Parameters
    ----------
    state : (4, n) array of float
        Mass, energy, burned and fuel mass. [kg, J, kg, kg]
    k : int
        Cylinder.
    volume : float
        Volume. [m3]
    settings : (19, n) array of float
        From `cylinder_settings`; three rows are written. [rows]
    table : (3, 14) array of float
        From `pullbook.gas.components.gas_table`. [J/(kg K), J/kg]
    dissociation : (21, 51, 4) array of float or None
        From `pullbook.gas.dissociation.dissociation_table`. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]
    """
    pressure, temperature, _, _ = cylinder_gas(state, k, volume, settings, table, dissociation)
    settings[CLOSING_PRESSURE, k] = pressure
    settings[CLOSING_VOLUME, k] = volume
    settings[CLOSING_TEMPERATURE, k] = temperature


@kernel
def _wall_power(
    gas: tuple[float, float, float, float], volume: float, phase: int, settings: FloatArray, k: int
) -> float:
    """Heat from the gas to head, crown and liner. [W]."""
    pressure, temperature, constant, _ = gas
    head, crown = settings[HEAD_AREA, k], settings[CROWN_AREA, k]
    liner = max(4.0 * (volume - settings[CLEARANCE_VOLUME, k]) / settings[BORE, k], 0.0)
    walls = (
        head * settings[HEAD_TEMPERATURE, k] + crown * settings[CROWN_TEMPERATURE, k]
        + liner * settings[LINER_TEMPERATURE, k]
    )  # fmt: skip
    area = head + crown + liner
    added = 0.0
    if phase == EXPANSION:
        closing = settings[CLOSING_PRESSURE, k], settings[CLOSING_VOLUME, k], settings[CLOSING_TEMPERATURE, k]
        motored = motored_pressure(volume, closing[0], closing[1], settings[MOTORED_EXPONENT, k])
        added = burning_speed(settings[SWEPT_VOLUME, k], closing, pressure, motored)
    around = pressure, temperature, volume, pressure / (constant * temperature), walls / area
    motion = settings[BORE, k], settings[PISTON_SPEED, k], 1.0 if phase == EXCHANGE else 0.0, added
    film = film_coefficient(int(settings[HEAT_MODEL, k]), around, motion)
    return float(settings[HEAT_FACTOR, k] * film * (area * temperature - walls))


@kernel
def advance_cylinder(  # noqa: PLR0913, PLR0917 - state, place, step, what came in, what is fixed, two tables of the gas
    state: FloatArray,
    k: int,
    step: CylinderStep,
    gained: Amounts,
    settings: FloatArray,
    table: FloatArray,
    dissociation: FloatArray | None = None,
) -> tuple[float, float, float, float, float]:
    r"""Move one cylinder over one step.

    .. math:: \Delta U = -p_{1/2}\,\Delta V + Q_\mathrm{released} - Q_\mathrm{wall} + \sum H

    The pressure and the wall heat are those of the state half-way, reached with the pressure of the start and the wall
    heat of the last step: second order in the step. The fuel that burns is a share of what can burn, the lesser of the
    fuel and of what the air is enough for.

    Parameters
    ----------
    state : (4, n) array of float
        Mass, energy, burned and fuel mass; column k is moved. [kg, J, kg, kg]
    k : int
        Cylinder.
    step : tuple of float
        Volume before and after, duration, share of the burnable fuel that burns in the step (`burn_share`), and the
        phase, one of `SEALED`, `EXCHANGE`, `EXPANSION`. [m3, m3, s, 1, -]
    gained : tuple of float
        Through all valves, over the step, into the cylinder: mass, energy (stagnation enthalpy), burned, fuel.
        [kg, J, kg, kg]
    settings : (19, n) array of float
        From `cylinder_settings`. [rows]
    table : (3, 14) array of float
        From `pullbook.gas.components.gas_table`. [J/(kg K), J/kg]
    dissociation : (21, 51, 4) array of float or None
        From `pullbook.gas.dissociation.dissociation_table`. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]

    Returns
    -------
    tuple of float
        Work of the gas on the piston, heat to the walls, energy released, and pressure and temperature half-way.
        [J, J, J, Pa, K]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, section 14.3 (open system, single zone).
    """
    start = cylinder_gas(state, k, step[0], settings, table, dissociation)
    return move_cylinder(state, k, step, gained, start[0], settings, table, dissociation)


@kernel
def move_cylinder(  # noqa: PLR0913, PLR0917 - as `advance_cylinder`
    state: FloatArray,
    k: int,
    step: CylinderStep,
    gained: Amounts,
    pressure: float,
    settings: FloatArray,
    table: FloatArray,
    dissociation: FloatArray | None = None,
) -> tuple[float, float, float, float, float]:
    """Do the same where the pressure at the start is known; arguments as of `advance_cylinder`, `pressure` in Pa."""
    before, after, duration, share, phase = step
    mass, energy = state[MASS, k], state[ENERGY, k]
    burned, fuel = state[BURNED, k], state[FUEL, k]
    heat = duration * settings[LAST_POWER, k]
    per_fuel = settings[AIR_PER_FUEL, k]
    burning = 0.0
    if share > 0.0:
        burning = share * max(min(fuel, (mass - burned - fuel) / per_fuel), 0.0)
    released = burning * settings[FUEL_ENERGY, k]
    more_burned = gained[2] + burning * (1.0 + per_fuel)
    more_fuel = gained[3] - burning
    middle = 0.5 * (before + after)
    # Half-way.
    state[MASS, k] = mass + 0.5 * gained[0]
    state[ENERGY, k] = energy + 0.5 * (gained[1] + released - heat - pressure * (after - before))
    state[BURNED, k] = burned + 0.5 * more_burned
    state[FUEL, k] = fuel + 0.5 * more_fuel
    half = cylinder_gas(state, k, middle, settings, table, dissociation)
    power = _wall_power(half, middle, phase, settings, k)
    settings[LAST_POWER, k] = power
    heat = duration * power
    work = half[0] * (after - before)
    # The whole step, from the values before it.
    state[MASS, k] = mass + gained[0]
    state[ENERGY, k] = energy + (gained[1] + released - heat - work)
    state[BURNED, k] = burned + more_burned
    state[FUEL, k] = fuel + more_fuel
    return work, heat, released, half[0], half[1]
