"""Silencers with a perforated tube: side volumes along the tube, with packing or without.

Each cell of the tube breathes through the holes of its wall into a volume of its own around it; neighbouring volumes
breathe into each other along the shell. Both passages have inertia and resistance:

- through the wall: holes under grazing flow, the jet of large amplitudes, and the packing between wall and shell;
- along the shell: the free gas, or the packing's resistance.

Packing holds the gas at its own temperature (isothermal). A chamber without packing is a shell with resistance zero and
gas that keeps its heat. Plain expansion chambers and reversed flow need nothing of this: they are pipes and joins.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from pullbook.gas.compiled import row_kernel
from pullbook.gas.grid import VOLUME
from pullbook.gas.mixture import energy_of, gas_constant, thermal

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["Chambers", "breathe", "chamber_totals", "settle"]

# Rows of Chambers.settings.
CONTENT: Final = 0  # volume of gas around the cell, m3
WALL_AREA: Final = 1  # of the tube in this cell, holes included, m2
RESISTANCE: Final = 2  # of the wall, per density and sound speed, without flow
GRAZING: Final = 3  # what a Mach number of one along the tube adds to it
MASS_LENGTH: Final = 4  # length of gas that moves with the holes, over the open part, m
JET: Final = 5  # velocity heads of the mean flow through the wall that are lost
PACKING: Final = 6  # resistance of the packing from wall to shell, Pa s/m
SHELL_AREA: Final = 7  # for flow from this volume to the next, m2; 0 after the last of a chamber
SHELL_LENGTH: Final = 8  # from the middle of this volume to that of the next, m
SHELL_RESISTANCE: Final = 9  # of that length, Pa s/m
TEMPERATURE: Final = 10  # of the packing, K
SETTINGS_ROWS: Final = 11

# Rows of Chambers.now.
HEAT_LEVEL: Final = 0  # temperature, K
PRESSURE: Final = 1  # Pa
ENTHALPY: Final = 2  # J/kg
BURNED: Final = 3
FUEL: Final = 4
GAMMA: Final = 5  # of slow compression: 1 where packing holds the temperature
DENSITY: Final = 6  # kg/m3
HALF: Final = 7  # pressure in the middle of the step, Pa
NOW_ROWS: Final = 8


class Chambers(NamedTuple):
    """Side volumes of all silencers.

    Attributes
    ----------
    slot : (m,) array of int
        Cell of the tube that each volume belongs to, neighbours in order. [1]
    packed : (m,) array of int
        1 where packing holds the temperature of the gas. [1]
    settings : (11, m) array of float
        Constant rows, see the constants of this module. [SI]
    state : (4, m) array of float
        Mass, energy, burned mass, fuel mass. [kg, J, kg, kg]
    speed : (2, m) array of float
        Speed out of the tube, mean over its wall; speed along the shell to the next volume. [m/s]
    now : (8, m) array of float
        What follows from the state, see the constants of this module. [SI]
    heat : (m,) array of float
        Energy received from the packing since the caller last set it to zero. [J]
    """

    slot: IntArray
    packed: IntArray
    settings: FloatArray
    state: FloatArray
    speed: FloatArray
    now: FloatArray
    heat: FloatArray


@row_kernel
def settle(chambers: Chambers, table: FloatArray) -> None:
    """Temperature, pressure, enthalpy and fractions of every volume from what it holds; packing gives its heat.

    Parameters
    ----------
    chambers : Chambers
        Side volumes; ``now``, ``heat`` and the energies of packed volumes are written. [SI]
    table : array of float
        Table of the gas. [SI]
    """
    state, now = chambers.state, chambers.now
    for i in range(len(chambers.slot)):
        mass = state[0, i]
        yb, yf = state[2, i] / mass, state[3, i] / mass
        if chambers.packed[i] == 1:
            temperature, gamma = chambers.settings[TEMPERATURE, i], 1.0
            constant = gas_constant(table, yb, yf)
            energy = mass * energy_of(table, temperature, yb, yf)
            chambers.heat[i] += energy - state[1, i]
            state[1, i] = energy
        else:
            temperature, constant, gamma = thermal(table, state[1, i] / mass, yb, yf, now[HEAT_LEVEL, i])
        density = mass / chambers.settings[CONTENT, i]
        now[HEAT_LEVEL, i] = temperature
        now[PRESSURE, i] = density * constant * temperature
        now[ENTHALPY, i] = state[1, i] / mass + constant * temperature
        now[BURNED, i] = yb
        now[FUEL, i] = yf
        now[GAMMA, i] = gamma
        now[DENSITY, i] = density


@row_kernel
def _spring(chambers: Chambers, i: int) -> float:
    """Rise of pressure in a side volume with the volume of gas that comes in, in Pa/m3."""
    return float(chambers.now[GAMMA, i] * chambers.now[PRESSURE, i] / chambers.settings[CONTENT, i])


@row_kernel
def _through_wall(pipes: Pipes, chambers: Chambers, i: int, dt: float) -> float:
    """Speed out of the tube in the middle of the step, implicit in the pressures that it changes itself."""
    p, f, settings = pipes.primitive, pipes.faces, chambers.settings
    slot = chambers.slot[i]
    rho, gamma = p[0, slot], p[3, slot]
    sound = math.sqrt(gamma * p[2, slot] / rho)
    before = chambers.speed[0, i]
    # Pressures in the middle of the step, as they would be without the flow through the wall.
    pressure = 0.5 * (f[7, slot] + f[2, slot + 1])
    spring = _spring(chambers, i)
    opposite = chambers.now[PRESSURE, i] + 0.5 * dt * spring * _shell_inflow(chambers, i)
    dense = rho if before > 0.0 else chambers.now[DENSITY, i]
    resistance = dense * sound * (settings[RESISTANCE, i] + settings[GRAZING, i] * abs(p[1, slot]) / sound)
    inertia = 2.0 * dense * settings[MASS_LENGTH, i] / dt
    give = 0.5 * dt * settings[WALL_AREA, i] * (gamma * pressure / pipes.geometry[VOLUME, slot] + spring)
    linear = inertia + resistance + settings[PACKING, i] + give
    push = pressure - opposite + inertia * before
    speed = 2.0 * push / (linear + math.sqrt(linear * linear + 2.0 * dense * settings[JET, i] * abs(push)))
    # No more than a tenth of either side in one step.
    most = 0.1 * min(pipes.geometry[VOLUME, slot], settings[CONTENT, i]) / (dt * settings[WALL_AREA, i])
    speed = min(max(speed, -most), most)
    chambers.now[HALF, i] = opposite + 0.5 * dt * spring * settings[WALL_AREA, i] * speed
    return float(speed)


@row_kernel
def _shell_inflow(chambers: Chambers, i: int) -> float:
    """Volume of gas that a side volume gains from its neighbours in unit time, with the speeds at hand."""
    settings, speed = chambers.settings, chambers.speed
    gain = -settings[SHELL_AREA, i] * speed[1, i]
    if i > 0:
        gain += settings[SHELL_AREA, i - 1] * speed[1, i - 1]
    return float(gain)


@row_kernel
def _along_shell(chambers: Chambers, i: int, dt: float) -> float:
    """Speed from one volume to the next in the middle of the step."""
    settings, now = chambers.settings, chambers.now
    rho = 0.5 * (now[DENSITY, i] + now[DENSITY, i + 1])
    inertia = 2.0 * rho * settings[SHELL_LENGTH, i] / dt
    push = now[HALF, i] - now[HALF, i + 1] + inertia * chambers.speed[1, i]
    speed = push / (inertia + settings[SHELL_RESISTANCE, i])
    most = 0.1 * min(settings[CONTENT, i], settings[CONTENT, i + 1]) / (dt * settings[SHELL_AREA, i])
    return float(min(max(speed, -most), most))


@row_kernel
def _pass_wall(pipes: Pipes, chambers: Chambers, i: int, volume: float) -> None:
    """Move a volume of gas out of the tube, and show half of it to the faces of the cell."""
    state, side, now, p, f = pipes.state, chambers.state, chambers.now, pipes.primitive, pipes.faces
    slot = chambers.slot[i]
    inverse = 1.0 / pipes.geometry[VOLUME, slot]
    if volume > 0.0:
        gamma = p[3, slot]
        mass = volume * p[0, slot]
        heat = gamma / (gamma - 1.0) * p[2, slot] / p[0, slot] + p[4, slot] + 0.5 * p[1, slot] * p[1, slot]
        yb, yf, speed = p[5, slot], p[6, slot], p[1, slot]
    else:
        mass = volume * now[DENSITY, i]
        heat, yb, yf, speed = now[ENTHALPY, i], now[BURNED, i], now[FUEL, i], 0.0
    state[0, slot] -= mass * inverse
    state[1, slot] -= mass * speed * inverse
    state[2, slot] -= mass * heat * inverse
    state[3, slot] -= mass * yb * inverse
    state[4, slot] -= mass * yf * inverse
    side[0, i] += mass
    side[1, i] += mass * heat
    side[2, i] += mass * yb
    side[3, i] += mass * yf
    thinner = 1.0 - 0.5 * mass * inverse / p[0, slot]
    weaker = 1.0 - 0.5 * p[3, slot] * volume * inverse
    f[5, slot] *= thinner
    f[0, slot + 1] *= thinner
    f[7, slot] *= weaker
    f[2, slot + 1] *= weaker


@row_kernel
def breathe(pipes: Pipes, chambers: Chambers, dt: float) -> None:
    """Exchange between tubes and side volumes, and along shells, for one step.

    Called once a step, after the pipes' ``predict`` and before the fluxes of their faces and ends are found.

    Parameters
    ----------
    pipes : Pipes
        All pipes; state and predicted faces of the cells that breathe are written. [SI]
    chambers : Chambers
        Side volumes after ``settle``; state and speeds are written, ``settle`` is called at the end. [SI]
    dt : float
        Time step, the same as for ``predict``. [s]

    Notes
    -----
    Gas that leaves the tube takes its stagnation enthalpy and its momentum along the tube with it; gas that returns has
    none of the latter. What the tube loses the volume gains: mass, energy and species close to round-off. Second order
    in time; stable at any resistance and at Courant numbers up to one in the shell.

    Examples
    --------
    >>> import numpy as np
    >>> from pullbook.gas.duct import fill_pipe, perfect_gas
    >>> from pullbook.gas.grid import PipeShape, pipe_set
    >>> from pullbook.gas.pipes import predict, prepare
    >>> from pullbook.gas.silencer_shape import SilencerShape, chambers_of
    >>> tube = PipeShape(position=np.array([0.0, 0.2]), diameter=np.array([0.05, 0.05]), cells=10)
    >>> pipes = pipe_set([tube], perfect_gas(1.4, 287.05))
    >>> fill_pipe(pipes, 0, (1.1e5, 0.0, 300.0, 0.0, 0.0))
    >>> prepare(pipes)
    >>> chambers = chambers_of([SilencerShape(pipe=0, first=0, after=10, shell_diameter=0.1)], pipes, 1e5)
    >>> before = pipes.state[0, 1] * pipes.geometry[0, 1] + chambers.state[0, 0]
    >>> predict(pipes, 2e-5)
    0
    >>> breathe(pipes, chambers, 2e-5)  # from the tube into the shell
    >>> bool(chambers.speed[0, 0] > 0.0)
    True
    >>> bool(abs(pipes.state[0, 1] * pipes.geometry[0, 1] + chambers.state[0, 0] - before) < 1e-15)
    True
    """
    settings, speed = chambers.settings, chambers.speed
    count = len(chambers.slot)
    for i in range(count):
        now = _through_wall(pipes, chambers, i, dt)
        _pass_wall(pipes, chambers, i, dt * now * settings[WALL_AREA, i])
        speed[0, i] = 2.0 * now - speed[0, i]
    for i in range(count):
        if settings[SHELL_AREA, i] > 0.0:
            now = _along_shell(chambers, i, dt)
            _pass_shell(chambers, i, dt * now * settings[SHELL_AREA, i])
            speed[1, i] = 2.0 * now - speed[1, i]
    settle(chambers, pipes.gas)


@row_kernel
def _pass_shell(chambers: Chambers, i: int, volume: float) -> None:
    """Move a volume of gas from one side volume to the next, with the enthalpy of the side that it comes from."""
    side, now = chambers.state, chambers.now
    source = i if volume > 0.0 else i + 1
    # Density of the pressure and temperature at the beginning of the step.
    mass = volume * now[DENSITY, source]
    moved = (mass, mass * now[ENTHALPY, source], mass * now[BURNED, source], mass * now[FUEL, source])
    for row in range(4):
        side[row, i] -= moved[row]
        side[row, i + 1] += moved[row]


@row_kernel
def chamber_totals(chambers: Chambers) -> tuple[float, float, float]:
    """What all side volumes hold, and what their packing has given.

    Parameters
    ----------
    chambers : Chambers
        Side volumes. [SI]

    Returns
    -------
    mass : float
        Mass of gas. [kg]
    energy : float
        Energy of gas. [J]
    heat : float
        Energy received from the packing since it was last set to zero. [J]
    """
    mass = energy = heat = 0.0
    for i in range(len(chambers.slot)):
        mass += chambers.state[0, i]
        energy += chambers.state[1, i]
        heat += chambers.heat[i]
    return mass, energy, heat
