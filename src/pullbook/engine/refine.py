"""State of an engine that has run on coarse cells, handed to the same engine cut into finer ones.

The first cycles of a run only wash out the gas that it was filled with; on cells twice as long they cost a third. What
is handed over need not close to the last digit, since it happens between cycles: the books of a cycle are not touched.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.grid import WALL_TEMPERATURE
from pullbook.gas.mixture import energy_of
from pullbook.gas.pipes import prepare
from pullbook.gas.silencer import CONTENT

if TYPE_CHECKING:
    from pullbook.gas.engine_arrays import EngineArrays
    from pullbook.gas.grid import Pipes
    from pullbook.gas.silencer import Chambers
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["hand_over"]


def hand_over(coarse: EngineArrays, fine: EngineArrays, following: IntArray) -> None:
    """Fill an engine with the state of the same engine on other cells.

    Parameters
    ----------
    coarse : EngineArrays
        After a cycle. [SI]
    fine : EngineArrays
        The same network cut into other cells; written. [SI]
    following : (n,) array of int
        Slots of its pipes whose walls follow from their heat; all others keep the temperature that they were given. [1]
    """
    for number in range(len(coarse.pipes.ends)):
        _hand_pipe(coarse.pipes, fine.pipes, number, following)
    prepare(fine.pipes)
    fine.joins.warm[:] = coarse.joins.warm
    for name in ("state", "settings"):
        getattr(fine.volumes, name)[:] = getattr(coarse.volumes, name)
    for name in ("state", "settings", "timing", "gained", "start", "totals"):
        getattr(fine.cylinders, name)[:] = getattr(coarse.cylinders, name)
    if len(fine.chambers.slot):
        _hand_chambers(coarse, fine)


def _cells(pipes: Pipes, number: int) -> slice:
    return slice(int(pipes.start[number]) + 1, int(pipes.start[number + 1]) - 1)


def _middles(cells: slice) -> FloatArray:
    """Where the middles of cells lie, in parts of the pipe."""
    count = cells.stop - cells.start
    middles: FloatArray = (np.arange(count) + 0.5) / count
    return middles


def _hand_pipe(coarse: Pipes, fine: Pipes, number: int, following: IntArray) -> None:
    """State of one pipe, and walls that may have moved, by straight lines between the middles of the cells."""
    given, taken = _cells(coarse, number), _cells(fine, number)
    old, new = _middles(given), _middles(taken)
    density, velocity, _, _, _, burned, fuel = (np.interp(new, old, row[given]) for row in coarse.primitive)
    temperature = np.interp(new, old, coarse.temperature[given])
    energy = np.array(
        [energy_of(fine.gas, *one) for one in zip(temperature.tolist(), burned.tolist(), fuel.tolist(), strict=True)]
    )
    fine.temperature[taken] = temperature
    fine.state[:, taken] = (
        density, density * velocity, density * (energy + 0.5 * velocity * velocity), density * burned, density * fuel,
    )  # fmt: skip
    moved = following[(following >= taken.start) & (following < taken.stop)]
    walls = np.interp(new, old, coarse.geometry[WALL_TEMPERATURE, given])
    fine.geometry[WALL_TEMPERATURE, moved] = walls[moved - taken.start]


def _places(chambers: Chambers, pipes: Pipes) -> FloatArray:
    """Number of the pipe of each side volume, plus its place in parts of the pipe."""
    pipe = np.searchsorted(pipes.start, chambers.slot, side="right") - 1
    first = pipes.start[pipe] + 1
    places: FloatArray = pipe.astype(np.float64) + (chambers.slot - first + 0.5) / (
        pipes.start[pipe + 1] - pipes.start[pipe] - 2
    )
    return places


def _hand_chambers(coarse: EngineArrays, fine: EngineArrays) -> None:
    """Side volumes take what the nearest one of the other cells holds, by volume."""
    given, taken = coarse.chambers, fine.chambers
    old, new = _places(given, coarse.pipes), _places(taken, fine.pipes)
    nearest = np.abs(new[:, None] - old[None, :]).argmin(axis=1)
    taken.state[:] = given.state[:, nearest] / given.settings[CONTENT, nearest] * taken.settings[CONTENT]
    taken.speed[:] = given.speed[:, nearest]
    taken.now[:] = given.now[:, nearest]
