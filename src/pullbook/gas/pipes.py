"""One step of all pipes of a network.

How a driver takes a step::

    prepare(pipes)                                   # once, after the state and temperature have been filled
    ...
    dt = 0.9 * largest_step(pipes)                   # every step, or now and then with a margin
    floors = predict(pipes, dt)
    inner_fluxes(pipes)                              # fills all faces; what it puts at the ends is overwritten next
    for each pipe k, end side (0 left, 1 right):
        rho, u_out, p, gamma, q, yb, yf, area = inside(pipes, k, side)       # time-centred, second order
        ... boundary gives the flux OUT of the pipe through the whole face: mass, momentum, energy, burned, fuel
        impose(pipes, k, side, (mass, momentum, energy, burned, fuel))       # signs are turned here
    bad, more = update(pipes, dt)                    # bad >= 0: first slot that is not a number, the run is lost

The momentum flux is ``(p + rho u^2) A``, positive for both sides. Between ``update`` and the next ``predict`` the rows
``pipes.primitive`` and ``pipes.temperature`` belong to ``pipes.state``. Cells of pipe k are the slots
``pipes.start[k] + 1`` to ``pipes.start[k + 1] - 2``. Whoever writes the state itself calls ``prepare`` again.
No kernel raises; a NaN anywhere makes ``largest_step`` NaN and ``update`` return its slot.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import inner_kernel, row_kernel
from pullbook.gas.ghosts import extrapolate, fill_ghosts
from pullbook.gas.grid import (
    BEND,
    EXCHANGE,
    FACE_AREA,
    FACTORS,
    FORCE,
    FRICTION,
    HEAT,
    IMPEDANCE,
    INVERSE_DIAMETER,
    INVERSE_LENGTH,
    INVERSE_VOLUME,
    LACKING,
    LOSS,
    ROUGHNESS,
    VECTOR,
    VOLUME,
    WALL_TEMPERATURE,
)
from pullbook.gas.hllc import hllc_fluxes
from pullbook.gas.pipes_predict import half_step
from pullbook.gas.pipes_update import MOST_TEMPERATURE, advance
from pullbook.gas.tapers import add_push, steady_flow

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes

__all__ = ["impose", "inner_fluxes", "inside", "largest_step", "predict", "prepare", "update"]


@row_kernel
def prepare(pipes: Pipes) -> None:
    """Fill everything that follows from the state.

    Parameters
    ----------
    pipes : Pipes
        Pipes with state and temperature (a guess within a factor of two) filled in the cells. [SI]
    """
    fill_ghosts(pipes)
    for row in range(5):
        pipes.flux[row] = 0.0
    for _ in range(5):
        _advance(pipes, 0.0)
    # The last vector is only read.
    slots = len(pipes.temperature)
    for row in range(7):
        pipes.primitive[row, slots - VECTOR :] = pipes.primitive[row, pipes.start[-1] - 1]


@row_kernel
def largest_step(pipes: Pipes) -> float:
    """Time in which the fastest wave crosses its cell: a Courant number of one.

    Parameters
    ----------
    pipes : Pipes
        Pipes after ``prepare`` or ``update``. [SI]

    Returns
    -------
    step : float
        Time step; NaN where the state is. [s]
    """
    return float(1.0 / pipes.fastest[0])


@row_kernel
def predict(pipes: Pipes, dt: float) -> int:
    """States at both sides of all faces, half a step ahead.

    Parameters
    ----------
    pipes : Pipes
        Pipes after ``prepare`` or ``update``; its faces are written. [SI]
    dt : float
        Time step. [s]

    Returns
    -------
    floors : int
        Number of cells in which a density or pressure had to be kept from falling below a tenth. [1]
    """
    steady_flow(pipes)
    extrapolate(pipes)
    p = pipes.primitive
    w = pipes.work
    f = pipes.faces
    left = FACTORS
    right = FACTORS + 3
    floors = half_step(
        dt,
        (p[0], p[1], p[2], w[right], w[right + 1], w[right + 2], p[5], p[6]),
        (
            p[0, 1:],
            p[1, 1:],
            p[2, 1:],
            w[left, 1:],
            w[left + 1, 1:],
            w[left + 2, 1:],
            w[right, 1:],
            w[right + 1, 1:],
            w[right + 2, 1:],
            p[5, 1:],
            p[6, 1:],
            p[3, 1:],
        ),
        (p[0, 2:], p[1, 2:], p[2, 2:], w[left, 2:], w[left + 1, 2:], w[left + 2, 2:], p[5, 2:], p[6, 2:]),
        (
            w[LOSS, 1 : 1 - VECTOR],
            w[EXCHANGE, 1:],
            w[LACKING, 1:],
            pipes.geometry[INVERSE_LENGTH, 1:],
            w[IMPEDANCE, 1:],
        ),
        (f[5, 1:], f[6, 1:], f[7, 1:], f[8, 1:], f[9, 1:], f[0, 2:], f[1, 2:], f[2, 2:], f[3, 2:], f[4, 2:]),
    )
    add_push(pipes)
    return floors


@row_kernel
def inner_fluxes(pipes: Pipes) -> None:
    """Fluxes through all faces between cells; those at the ends are to be imposed afterwards.

    Parameters
    ----------
    pipes : Pipes
        Pipes after ``predict``; its fluxes are written. [SI]
    """
    p = pipes.primitive
    f = pipes.faces
    q = pipes.flux
    w = pipes.work
    hllc_fluxes(
        (f[0, 1:], f[1, 1:], f[2, 1:], p[3, :-1], p[4, :-1], f[3, 1:], f[4, 1:], w[IMPEDANCE]),
        (f[5, 1:], f[6, 1:], f[7, 1:], p[3, 1:], p[4, 1:], f[8, 1:], f[9, 1:], w[IMPEDANCE, 1:]),
        pipes.geometry[FACE_AREA, 1:],
        (q[0, 1 : 1 - VECTOR], q[1, 1:], q[2, 1:], q[3, 1:], q[4, 1:]),
    )


@row_kernel
def inside(pipes: Pipes, pipe: int, side: int) -> tuple[float, float, float, float, float, float, float, float]:
    """State of the gas at the end of a pipe, half a step ahead.

    Parameters
    ----------
    pipes : Pipes
        Pipes after ``predict``. [SI]
    pipe : int
        Index of the pipe.
    side : int
        0 for its left end, 1 for its right.

    Returns
    -------
    state : tuple of float
        Density, velocity out of the pipe, pressure, gamma, energy offset q, burned and fuel fraction, area. [SI]
    """
    f = pipes.faces
    face = pipes.ends[pipe, side]
    row = 5 - 5 * side
    cell = face - side
    speed = f[row + 1, face] * (2.0 * side - 1.0)
    return (
        f[row, face],
        speed,
        f[row + 2, face],
        pipes.primitive[3, cell],
        pipes.primitive[4, cell],
        f[row + 3, face],
        f[row + 4, face],
        pipes.geometry[FACE_AREA, face],
    )


@row_kernel
def impose(pipes: Pipes, pipe: int, side: int, flux: tuple[float, float, float, float, float]) -> None:
    """Set the flux through the end of a pipe.

    Parameters
    ----------
    pipes : Pipes
        Pipes after ``inner_fluxes``. [SI]
    pipe : int
        Index of the pipe.
    side : int
        0 for its left end, 1 for its right.
    flux : tuple of float
        Mass, momentum, energy, burned, fuel out of the pipe through the whole face; momentum is (p + rho u^2) A. [SI]
    """
    face = pipes.ends[pipe, side]
    sign = 2.0 * side - 1.0
    pipes.flux[0, face] = sign * flux[0]
    pipes.flux[1, face] = flux[1]
    pipes.flux[2, face] = sign * flux[2]
    pipes.flux[3, face] = sign * flux[3]
    pipes.flux[4, face] = sign * flux[4]


@row_kernel
def update(pipes: Pipes, dt: float) -> tuple[int, int]:
    """New state from the fluxes, and all that follows from it.

    Parameters
    ----------
    pipes : Pipes
        Pipes with all fluxes set. [SI]
    dt : float
        Time step, the same as for ``predict``. [s]

    Returns
    -------
    bad : int
        First slot whose state is not a number, or -1.
    floors : int
        Number of cells whose density or temperature had to be kept from falling to nothing. [1]
    """
    floors, broken = _advance(pipes, dt)
    bad = -1
    if broken > 0:
        bad = 0
        while pipes.temperature[bad] < MOST_TEMPERATURE:
            bad += 1
    return bad, floors


@inner_kernel
def _advance(pipes: Pipes, dt: float) -> tuple[int, int]:
    """Hand all rows to the loop."""
    g = pipes.geometry
    w = pipes.work
    q = pipes.flux
    s = pipes.state
    p = pipes.primitive
    floors, broken, fastest = advance(
        dt,
        pipes.gas,
        (
            g[VOLUME, :-VECTOR],
            g[INVERSE_VOLUME],
            g[INVERSE_LENGTH],
            g[INVERSE_DIAMETER],
            g[ROUGHNESS],
            g[FRICTION],
            g[BEND],
            g[HEAT],
            g[WALL_TEMPERATURE],
        ),
        (q[0], q[1], q[2], q[3], q[4], q[0, 1:], q[1, 1:], q[2, 1:], q[3, 1:], q[4, 1:]),
        (s[0], s[1], s[2], s[3], s[4]),
        (
            pipes.temperature,
            pipes.wall_heat,
            w[LOSS],
            w[EXCHANGE],
            w[LACKING],
            w[FORCE],
            p[0],
            p[1],
            p[2],
            p[3],
            p[4],
            p[5],
            p[6],
        ),
    )
    pipes.fastest.view(np.int64)[0] = fastest
    return floors, broken
