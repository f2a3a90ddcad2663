"""Slots beyond the ends of each pipe: gas at all times, and before each step what gives the end cells their slopes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.gas.compiled import inner_kernel
from pullbook.gas.grid import FACTORS

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes

__all__ = ["extrapolate", "fill_ghosts"]


@inner_kernel
def fill_ghosts(pipes: Pipes) -> None:
    """Give every ghost the gas of the cell beside it, so that all loops meet gas only."""
    for k in range(len(pipes.start) - 1):
        first = pipes.start[k]
        last = pipes.start[k + 1] - 1
        for row in range(5):
            pipes.state[row, first] = pipes.state[row, first + 1]
            pipes.state[row, last] = pipes.state[row, last - 1]
        pipes.temperature[first] = pipes.temperature[first + 1]
        pipes.temperature[last] = pipes.temperature[last - 1]
    used = pipes.start[-1]
    for row in range(5):
        pipes.state[row, used:] = pipes.state[row, used - 1]
    pipes.temperature[used:] = pipes.temperature[used - 1]


@inner_kernel
def extrapolate(pipes: Pipes) -> None:
    """Gas beyond the ends: the jump there is that at the other face of the last cell."""
    p = pipes.primitive
    w = pipes.work
    for k in range(len(pipes.start) - 1):
        i = pipes.start[k] + 1
        j = pipes.start[k + 1] - 2
        for row in range(3):
            here = p[row, i] * w[FACTORS + row, i]
            there = p[row, j] * w[FACTORS + 3 + row, j]
            ahead = p[row, i + 1] * w[FACTORS + row, i + 1] - p[row, i] * w[FACTORS + 3 + row, i]
            behind = p[row, j] * w[FACTORS + row, j] - p[row, j - 1] * w[FACTORS + 3 + row, j - 1]
            p[row, i - 1] = here - ahead
            p[row, j + 1] = there + behind
        # A ghost has a face of its own, whose flux is thrown away but must be a number.
        for row in range(0, 3, 2):
            p[row, i - 1] = max(p[row, i - 1], 0.1 * p[row, i])
            p[row, j + 1] = max(p[row, j + 1], 0.1 * p[row, j])
        for row in range(3, 7):
            p[row, i - 1] = p[row, i]
            p[row, j + 1] = p[row, j]
