"""One pipe by itself, between two simple ends: what the checks of the scheme and small studies run.

The network of an engine is run elsewhere; this module takes the same steps of the same kernels.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from pullbook.errors import OutOfRangeError
from pullbook.gas.compiled import kernel
from pullbook.gas.ends import anechoic_end, closed_end, open_end
from pullbook.gas.mixture import energy_of, gas_constant
from pullbook.gas.pipes import impose, inner_fluxes, inside, largest_step, predict, update
from pullbook.gas.riemann import riemann_at

if TYPE_CHECKING:
    from pullbook.gas.end_waves import Flux
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

__all__ = ["DuctEnd", "DuctRun", "fill_pipe", "perfect_gas", "run_duct"]

KINDS: Final = ("closed", "open", "anechoic", "transmissive", "periodic", "held")
CLOSED: Final = 0
OPEN: Final = 1
ANECHOIC: Final = 2
TRANSMISSIVE: Final = 3
PERIODIC: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class DuctEnd:
    """End of a pipe that is run by itself.

    Parameters
    ----------
    kind : str
        ``closed``; ``open`` to a room (no loss); ``anechoic`` with gas at rest beyond; ``transmissive`` (what comes
        leaves); ``periodic`` (joined to the other end, which must be the same); ``held`` (given gas in given motion
        beyond, met through the exact Riemann problem).
    outside : tuple of float
        Open, anechoic: pressure, temperature, gas constant, gamma, enthalpy, burned, fuel fraction of the gas outside.
        Held: density, velocity to the right, pressure, gamma, energy offset, burned, fuel fraction. [SI]
    """

    kind: str
    outside: tuple[float, float, float, float, float, float, float] = (1e5, 300.0, 287.05, 1.4, 0.0, 0.0, 0.0)


class DuctRun(NamedTuple):
    """What became of a run.

    Attributes
    ----------
    time : float
        Time reached. [s]
    steps : int
        Number of steps. [1]
    floors : int
        Number of times that a density, pressure or temperature had to be kept from falling to nothing. [1]
    bad : int
        Slot whose state is not a number, or -1. [1]
    """

    time: float
    steps: int
    floors: int
    bad: int


def perfect_gas(gamma: float, constant: float) -> FloatArray:
    """Table of a gas of constant heat capacities, for air, burned gas and fuel vapour alike.

    Parameters
    ----------
    gamma : float
        Ratio of the heat capacities, above 1. [1]
    constant : float
        Specific gas constant. [J/(kg K)]

    Returns
    -------
    table : (3, 14) array of float
        Table as ``gas_table`` makes it; the energy is zero at 0 K. [J/(kg K), then J/kg]

    Examples
    --------
    >>> from pullbook.gas.mixture import cv_of
    >>> cv_of(perfect_gas(1.4, 287.0), 1500.0, 0.2, 0.0)
    717.5
    """
    table = np.zeros((3, 14))
    energy = 1000.0 * constant / (gamma - 1.0)
    table[0, 0], table[0, 1], table[0, 3], table[0, 9] = constant, energy, energy, energy
    return table


def fill_pipe(pipes: Pipes, pipe: int, gas: tuple[FloatArray | float, ...]) -> None:
    """Fill the cells of one pipe with gas; ``prepare`` is to be called when all are filled.

    Parameters
    ----------
    pipes : Pipes
        Pipes, of which state and temperature are written. [SI]
    pipe : int
        Index of the pipe.
    gas : tuple of five (cells,) arrays of float
        Pressure, velocity, temperature, burned fraction, fuel fraction of each cell; floats stand for all. [SI]

    Examples
    --------
    >>> from pullbook.gas.grid import PipeShape, pipe_set
    >>> shape = PipeShape(position=np.array([0.0, 1.0]), diameter=np.array([0.04, 0.04]), cells=2)
    >>> pipes = pipe_set([shape], perfect_gas(1.4, 287.05))
    >>> fill_pipe(pipes, 0, (1e5, 0.0, 300.0, 0.0, 0.0))
    >>> np.round(pipes.state[0, 1:3], 4).tolist()
    [1.1612, 1.1612]
    """
    cells = slice(int(pipes.start[pipe]) + 1, int(pipes.start[pipe + 1]) - 1)
    rows = np.empty((5, cells.stop - cells.start))
    for row, values in zip(rows, gas, strict=True):
        row[:] = values
    _write_state(pipes.gas, rows, pipes.state[:, cells])
    pipes.temperature[cells] = rows[2]


@kernel
def _write_state(table: FloatArray, gas: FloatArray, state: FloatArray) -> None:
    for i in range(gas.shape[1]):
        u, t, yb, yf = gas[1, i], gas[2, i], gas[3, i], gas[4, i]
        rho = gas[0, i] / (gas_constant(table, yb, yf) * t)
        state[0, i] = rho
        state[1, i] = rho * u
        state[2, i] = rho * (energy_of(table, t, yb, yf) + 0.5 * u * u)
        state[3, i] = rho * yb
        state[4, i] = rho * yf


@kernel
def _met(pipes: Pipes, side: int, outside: FloatArray) -> Flux:
    """Outward flux of the exact Riemann problem with gas beyond the end, whose velocity is given to the right."""
    rho, u, p, gamma, q, yb, yf, area = inside(pipes, 0, side)
    sign = 2.0 * side - 1.0
    beyond = (outside[0], sign * outside[1], outside[2], outside[3])
    density, speed, pressure, from_inside = riemann_at((rho, u, p, gamma), beyond, 0.0)
    if not from_inside:
        gamma, q, yb, yf = outside[3], outside[4], outside[5], outside[6]
    mass = density * speed * area
    enthalpy = gamma / (gamma - 1.0) * pressure / density + q + 0.5 * speed * speed
    return mass, mass * speed + pressure * area, mass * enthalpy, mass * yb, mass * yf


@kernel
def _through(pipes: Pipes, side: int, kind: int, outside: FloatArray) -> Flux:
    """Outward flux of one end."""
    rho, u, p, gamma, q, yb, yf, area = inside(pipes, 0, side)
    here = (rho, u, p, gamma, q, yb, yf)
    room = (outside[0], outside[1], outside[2], outside[3], outside[4], outside[5], outside[6])
    if kind == CLOSED:
        return closed_end(here, area)
    if kind == OPEN:
        return open_end(here, area, room, 0.0, 0.0)
    if kind == ANECHOIC:
        return anechoic_end(here, area, room)
    if kind == TRANSMISSIVE:
        mass = rho * u * area
        enthalpy = gamma / (gamma - 1.0) * p / rho + q + 0.5 * u * u
        return mass, mass * u + p * area, mass * enthalpy, mass * yb, mass * yf
    return _met(pipes, side, outside)


@kernel
def _other_end(pipes: Pipes, side: int, outside: FloatArray) -> None:
    """Gas at the other end of a ring, as gas beyond this one."""
    sign = 1.0 - 2.0 * side
    rho, u, p, gamma, q, yb, yf, _ = inside(pipes, 0, 1 - side)
    outside[0], outside[1], outside[2], outside[3] = rho, sign * u, p, gamma
    outside[4], outside[5], outside[6] = q, yb, yf


@kernel
def _run(pipes: Pipes, kinds: tuple[int, int], outside: FloatArray, until: float, courant: float) -> DuctRun:
    time = 0.0
    steps = 0
    floors = 0
    while time < until:
        dt = courant * largest_step(pipes)
        left = until - time
        # The last two steps share what is left, so that none is a sliver. A NaN step is taken, and found in `update`.
        if dt >= left:
            dt = left
        elif dt > 0.5 * left:
            dt = 0.5 * left
        floors += predict(pipes, dt)
        inner_fluxes(pipes)
        for side in range(2):
            if kinds[side] == PERIODIC:
                _other_end(pipes, side, outside[side])
            impose(pipes, 0, side, _through(pipes, side, kinds[side], outside[side]))
        bad, more = update(pipes, dt)
        floors += more
        steps += 1
        time = until if dt == left else time + dt
        if bad >= 0:
            return DuctRun(time, steps, floors, bad)
    return DuctRun(time, steps, floors, -1)


def run_duct(pipes: Pipes, ends: tuple[DuctEnd, DuctEnd], until: float, courant: float = 0.9) -> DuctRun:
    """Run a pipe for some time.

    Parameters
    ----------
    pipes : Pipes
        Pipes of one pipe, filled and prepared; changed in place. [SI]
    ends : tuple of DuctEnd
        Its left and its right end.
    until : float
        Time to run. [s]
    courant : float
        Courant number of the steps, up to 1. [1]

    Returns
    -------
    run : DuctRun
        Time, steps, floors, and whether it went wrong.

    Raises
    ------
    OutOfRangeError
        When a kind of end is unknown, one end only is periodic, or the Courant number is outside 0 to 1.

    Examples
    --------
    >>> from pullbook.gas.grid import PipeShape, pipe_set
    >>> from pullbook.gas.pipes import prepare
    >>> shape = PipeShape(position=np.array([0.0, 1.0]), diameter=np.array([0.04, 0.04]), cells=20)
    >>> pipes = pipe_set([shape], perfect_gas(1.4, 287.05))
    >>> fill_pipe(pipes, 0, (1e5, 0.0, 300.0, 0.0, 0.0))
    >>> prepare(pipes)
    >>> run_duct(pipes, (DuctEnd(kind="closed"), DuctEnd(kind="closed")), 0.01).bad
    -1
    """
    for end in ends:
        if end.kind not in KINDS:
            raise OutOfRangeError("unknown kind of pipe end", value=end.kind, remedy=f"choose from {', '.join(KINDS)}")
    if (ends[0].kind == "periodic") != (ends[1].kind == "periodic"):
        raise OutOfRangeError("one end of a ring only", value=ends[1].kind, remedy="make both ends periodic")
    if not 0.0 < courant <= 1.0:
        raise OutOfRangeError("Courant number out of range", value=str(courant), remedy="choose one above 0, up to 1")
    kinds = (KINDS.index(ends[0].kind), KINDS.index(ends[1].kind))
    outside = np.array([ends[0].outside, ends[1].outside])
    time, steps, floors, bad = _run(pipes, kinds, outside, float(until), float(courant))
    return DuctRun(float(time), int(steps), int(floors), int(bad))
