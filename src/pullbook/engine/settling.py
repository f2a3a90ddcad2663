"""Whether the cycles of a run have settled, and whether its books close."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.crank import SWEPT
from pullbook.gas.engine_arrays import CLOSED_WORK, OPEN_WORK, TRAPPED_BURNED, TRAPPED_MASS
from pullbook.gas.engine_cycle import gas_content

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.engine.assemble import Assembled
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "CycleLimits",
    "balance_errors",
    "changes_between",
    "changes_to_come",
    "largest_changes",
    "state_of_cycle",
    "still_changing",
]

_SLOWEST: Final = 0.9  # ratio of a change to the one before it; above, noise is taken for slowness


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleLimits:
    """When a run has settled, and when it is given up.

    Attributes
    ----------
    work : float
        Change of the mean indicated pressure in the last cycle, or in all cycles to come, relative. [1]
    trapped : float
        The same of the trapped mass of any cylinder. [1]
    residual : float
        The same of the residual fraction of any cylinder. [1]
    walls : float
        Change of the temperature of a wall that follows from its heat. [K]
    volumes : float
        Change of the temperature of the gas in a volume in all cycles to come, relative. [1]
    spark_deg : float
        Move of a spark that is searched. [deg]
    fewest, most : int
        Cycles, on each size of cells.
    coarser : float
        Cells of the first cycles, which wash out what the engine was filled with, over those of the run; 1 for none of
        these. They end at changes sixteen times as large. [1]
    courant : float
        Share of the largest time step. [1]
    """

    work: float = 5e-4
    trapped: float = 1e-3
    residual: float = 5e-4
    walls: float = 1.0
    volumes: float = 1e-3
    spark_deg: float = 0.3
    fewest: int = 2
    most: int = 30
    courant: float = 0.9
    coarser: float = 2.0


def state_of_cycle(assembled: Assembled) -> FloatArray:
    """What has to settle: mean work by swept volume, trapped mass of each cylinder, residual fraction of each.

    Parameters
    ----------
    assembled : Assembled
        The engine after a cycle. [SI]

    Returns
    -------
    (1 + 2 c,) array of float
        In that order. [Pa, kg, 1]
    """
    cylinders = assembled.arrays.cylinders
    totals = cylinders.totals
    work = float((totals[CLOSED_WORK] + totals[OPEN_WORK]).sum() / cylinders.crank[:, SWEPT].sum())
    trapped = totals[TRAPPED_MASS]
    return np.concatenate(([work], trapped, totals[TRAPPED_BURNED] / np.maximum(trapped, 1e-12)))


def changes_between(before: FloatArray, now: FloatArray) -> FloatArray:
    """Changes of all that has to settle, with their signs.

    Parameters
    ----------
    before, now : (1 + 2 c,) array of float
        From `state_of_cycle`. [Pa, kg, 1]

    Returns
    -------
    (1 + 2 c,) array of float
        The work and the trapped masses relative. [1, 1, 1]
    """
    count = (now.size - 1) // 2
    scale = np.ones_like(now)
    scale[0] = max(abs(now[0]), 1e4)
    scale[1 : 1 + count] = np.maximum(now[1 : 1 + count], 1e-12)
    return (now - before) / scale


def largest_changes(changes: FloatArray) -> tuple[float, float, float]:
    """Largest of the changes of work, trapped masses and residual fractions, without sign. [1, 1, 1].

    Parameters
    ----------
    changes : (1 + 2 c,) array of float
        From `changes_between` or `changes_to_come`. [1]
    """
    size = np.abs(changes)
    count = (size.size - 1) // 2
    return float(size[0]), float(size[1 : 1 + count].max()), float(size[1 + count :].max())


def changes_to_come(last: Sequence[FloatArray]) -> FloatArray:
    """The larger of the last change and of all that would follow if changes went on falling as they do.

    A volume that fills slowly changes little from cycle to cycle, but for many of them, and always in one direction.
    What merely flutters must not be taken for it: each quantity of each cylinder is looked at by itself, and the lesser
    of the two ratios between its last three changes counts.

    Parameters
    ----------
    last : sequence of (1 + 2 c,) array of float
        Changes in the last three cycles, or in as many as there were, the last one last. [1]

    Returns
    -------
    (1 + 2 c,) array of float
        Without sign. [1]
    """
    ratio = np.full_like(last[-1], _SLOWEST if len(last) > 1 else 0.0)
    for before, after in itertools.pairwise(last[-3:]):
        ratio = np.minimum(ratio, np.divide(after, before, out=np.zeros_like(after), where=before * after > 0.0))
    return np.abs(last[-1]) * np.maximum(1.0, ratio / (1.0 - ratio))


def balance_errors(assembled: Assembled, before: tuple[float, float]) -> tuple[float, float]:
    """What the change of the gas in the engine leaves unexplained, relative to the gas and its energy.

    Parameters
    ----------
    assembled : Assembled
        The engine after a cycle, with its sums. [SI]
    before : tuple of float
        Mass and energy of its gas before. [kg, J]

    Returns
    -------
    tuple of float
        Errors of mass and energy. [1, 1]
    """
    arrays = assembled.arrays
    mass, energy = gas_content(arrays)
    outward = np.isin(arrays.ends.kind, (0, 1, 2))
    totals = arrays.cylinders.totals
    work, heat, released, evaporated = totals[0] + totals[1], totals[2], totals[3], totals[4]
    gained = released.sum() - work.sum() - heat.sum() - evaporated.sum()
    gained += (
        arrays.volumes.heat.sum()
        + arrays.chambers.heat.sum()
        + arrays.pipes.wall_heat.sum()
        - arrays.ends.total[outward, 2].sum()
    )
    scale = released.sum() + abs(energy)
    return (
        abs(mass - before[0] + arrays.ends.total[outward, 0].sum()) / mass,
        abs(energy - before[1] - gained) / scale,
    )


def still_changing(changes: tuple[float, float, float], limits: CycleLimits, stride: float) -> str:
    """Which quantity still changes; empty where none does.

    Parameters
    ----------
    changes : tuple of float
        From `largest_changes`. [1, 1, 1]
    limits : CycleLimits
        What they may be.
    stride : float
        Largest move of a wall. [K]
    """
    names = ("the indicated work", "the trapped mass of a cylinder", "the residual fraction of a cylinder")
    for name, change, limit in zip(names, changes, (limits.work, limits.trapped, limits.residual), strict=True):
        if not change <= limit:
            return f"{name} still changes by {change:.2g} from cycle to cycle, more than {limit:.2g}"
    if stride > limits.walls:
        return f"the wall of a pipe still changes by {stride:.2g} K from cycle to cycle, more than {limits.walls:.2g} K"
    return ""
