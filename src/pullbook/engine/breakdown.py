"""Where a run broke, in words: speed, crank angle, and pipe, cylinder or volume."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from pullbook.errors import SimulationError
from pullbook.gas.engine_step import BAD_CYLINDER, BAD_PIPE, BAD_VOLUME

if TYPE_CHECKING:
    from pullbook.engine.assemble import Assembled

__all__ = ["refuse_broken"]


def refuse_broken(assembled: Assembled, speed_rpm: float, end: tuple[int, int, int, int, int, float]) -> None:
    """Raise where a cycle broke off.

    Parameters
    ----------
    assembled : Assembled
        The engine as it was left. [SI]
    speed_rpm : float
        Engine speed. [rpm]
    end : tuple of (int, int, int, int, int, float)
        What the cycle gave back: what went wrong and where first, the crank angle last. [1, 1, 1, 1, 1, rad]

    Raises
    ------
    SimulationError
        If something went wrong.
    """
    wrong, where, angle = end[0], end[1], math.degrees(end[5])
    if not wrong:
        return
    raise SimulationError(
        f"the gas is no longer physical in {_place(assembled, wrong, where)} at {angle:.1f} degrees of crank",
        where=f"{speed_rpm:.0f} rpm",
        remedy="look at the lengths, diameters and areas around it, or run with smaller cells",
    )


def _place(assembled: Assembled, wrong: int, where: int) -> str:
    network, pipes = assembled.network, assembled.arrays.pipes
    if wrong == BAD_CYLINDER:
        return f"cylinder {network.cylinders[where].number}"
    if wrong == BAD_VOLUME:
        content = assembled.arrays.volumes.state[0]
        lost = np.flatnonzero(~(content > 0.0))
        return f"the volume '{network.volumes[int(lost[0])].name}'" if lost.size else "a volume"
    if wrong != BAD_PIPE:
        # The time step is no number: the first cell that has none says why.
        lost = np.flatnonzero(~np.isfinite(pipes.temperature))
        if not lost.size:
            return "the pipes, whose time step is no number"
        where = int(lost[0])
    pipe = int(np.searchsorted(pipes.start, where, side="right")) - 1
    return f"pipe '{network.pipes[pipe].name}', cell {where - int(pipes.start[pipe])}"
