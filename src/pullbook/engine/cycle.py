"""Cycle after cycle until nothing changes any more, and what the last one was like."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.assemble import assemble
from pullbook.engine.breakdown import refuse_broken
from pullbook.engine.ignition import Ignition
from pullbook.engine.refine import hand_over
from pullbook.engine.slow_volumes import SlowVolumes
from pullbook.engine.wall_balance import WallBalance
from pullbook.gas.crank import SWEPT
from pullbook.gas.engine_arrays import (
    CLOSED_WORK,
    OPEN_WORK,
    TRAPPED_BURNED,
    TRAPPED_MASS,
    Trace,
)
from pullbook.gas.engine_cycle import clear_totals, gas_content, run_cycle

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.engine.assemble import Assembled
    from pullbook.engine.combustion import Timing
    from pullbook.engine.network import Network
    from pullbook.engine.operating import Operating
    from pullbook.quantities.arrays import FloatArray

__all__ = ["CycleLimits", "Settled", "run_until_settled"]

_SAMPLES: Final = 720
_LOOSER: Final = 16.0  # changes on the coarser cells
_CHANGES: Final = ("work", "trapped", "residual", "walls", "spark_deg")
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """Last cycle of a run.

    Attributes
    ----------
    assembled : Assembled
        The engine at the end of it, with the sums of the cycle. [SI]
    operating : Operating
        How it was run.
    trace : Trace
        What was written down, only as many samples as there were. [SI]
    cycles, steps, floors : int
        Cycles in all; steps and floors used in the last one.
    changes : tuple of float
        Changes of work, trapped mass and residual fraction in the last cycle. [1, 1, 1]
    converged : bool
        All were within their limits.
    reason : str
        Which was not.
    errors : tuple of float
        What the balances of mass and energy leave, relative to what is in the engine. [1, 1]
    timings : tuple of Timing
        Spark and burning of each cylinder. [deg]
    """

    assembled: Assembled
    operating: Operating
    trace: Trace
    cycles: int
    steps: int
    floors: int
    changes: tuple[float, float, float]
    converged: bool
    reason: str
    errors: tuple[float, float]
    timings: tuple[Timing, ...]


def _room(assembled: Assembled, samples: int, *, waves: bool) -> Trace:
    arrays = assembled.arrays
    cylinders, ends = arrays.cylinders.state.shape[1], arrays.ends.kind.size
    slots = arrays.pipes.temperature.size if waves else 0
    return Trace(
        angle=np.zeros(samples),
        cylinder=np.zeros((cylinders, 4, samples)),
        end=np.zeros((ends, 3, samples)),
        cells=np.zeros((4, slots, samples)),
    )


def _cut(trace: Trace, count: int) -> Trace:
    return Trace(
        angle=trace.angle[:count], cylinder=trace.cylinder[..., :count], end=trace.end[..., :count],
        cells=trace.cells[..., :count],
    )  # fmt: skip


def _state_of_cycle(assembled: Assembled) -> FloatArray:
    """Mean work by swept volume, then trapped mass of each cylinder, then residual fraction of each. [Pa, kg, 1]."""
    cylinders = assembled.arrays.cylinders
    totals = cylinders.totals
    work = float((totals[CLOSED_WORK] + totals[OPEN_WORK]).sum() / cylinders.crank[:, SWEPT].sum())
    trapped = totals[TRAPPED_MASS]
    return np.concatenate(([work], trapped, totals[TRAPPED_BURNED] / np.maximum(trapped, 1e-12)))


def _changes(before: FloatArray, now: FloatArray) -> tuple[float, float, float]:
    count = (now.size - 1) // 2
    work = (now[0] - before[0]) / max(abs(now[0]), 1e4)
    trapped = np.abs(now[1 : 1 + count] - before[1 : 1 + count]) / np.maximum(now[1 : 1 + count], 1e-12)
    return work, float(trapped.max()), float(np.abs(now[1 + count :] - before[1 + count :]).max())


def _to_come(earlier: tuple[float, float, float], now: tuple[float, float, float]) -> tuple[float, float, float]:
    """The larger of the last change and of all that would follow if changes went on falling as they do.

    A volume that fills slowly changes little from cycle to cycle, but for many of them, and always in one direction.
    """

    def rest(before: float, after: float) -> float:
        ratio = min(after / before, _SLOWEST) if before * after > 0.0 else 0.0
        return abs(after) * max(1.0, ratio / (1.0 - ratio))

    return rest(earlier[0], now[0]), rest(earlier[1], now[1]), rest(earlier[2], now[2])


def _balance_errors(assembled: Assembled, before: tuple[float, float]) -> tuple[float, float]:
    """What the change of the gas in the engine leaves unexplained, relative to the gas and its energy."""
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


def run_until_settled(  # noqa: PLR0913 - engine, how it is run, cells, limits; three by name
    network: Network,
    operating: Operating,
    cell_size: float,
    limits: CycleLimits,
    *,
    waves: bool = False,
    start: Settled | None = None,
    watch: Callable[[int], None] | None = None,
) -> Settled:
    """Run an engine at one speed until its cycles repeat.

    Parameters
    ----------
    network : Network
        The engine.
    operating : Operating
        How it is run.
    cell_size : float
        Length of the cells. [m]
    limits : CycleLimits
        When to stop.
    waves : bool
        Also write down all cells over the last cycle.
    start : Settled, optional
        The same engine at the same speed on other cells, to begin from; without it the engine begins with gas at rest,
        on coarser cells first.
    watch : callable, optional
        Called after each cycle with their number; may raise KeyboardInterrupt.

    Returns
    -------
    Settled
        The last cycle.

    Raises
    ------
    SimulationError
        If a state is not a number or not physical, with speed, angle and pipe.
    """
    if start is None and limits.coarser > 1.0:
        loose = replace(limits, **{name: _LOOSER * getattr(limits, name) for name in _CHANGES})
        start = _Run(network, operating, limits.coarser * cell_size).settle(loose, watch)
    return _Run(network, operating, cell_size, waves=waves, start=start).settle(limits, watch)


class _Run:
    """Engine at one speed on one size of cells, cycle after cycle; begins where a run on other cells has ended."""

    def __init__(
        self,
        network: Network,
        operating: Operating,
        cell_size: float,
        *,
        waves: bool = False,
        start: Settled | None = None,
    ) -> None:
        self.assembled = assemble(network, operating, cell_size)
        arrays = self.assembled.arrays
        self.operating = operating
        self.ignition = Ignition(arrays, operating)
        self.cycle = 0
        self._trace = _room(self.assembled, _SAMPLES, waves=waves)
        self._no_trace = _room(self.assembled, 0, waves=waves)
        self._before = np.zeros(1 + 2 * len(network.cylinders))
        self._walls = WallBalance(network, arrays.pipes)
        if start is not None:
            hand_over(start.assembled.arrays, arrays)
            self.ignition.begin_at([one.half_burned_deg for one in start.timings])
            self.cycle, self._before = start.cycles, _state_of_cycle(start.assembled)

    def settle(self, limits: CycleLimits, watch: Callable[[int], None] | None) -> Settled:
        """Run until the cycles repeat, or there have been too many."""
        assembled, operating = self.assembled, self.operating
        arrays = assembled.arrays
        earlier = (math.inf, math.inf, math.inf)
        slow = SlowVolumes()
        begun = self.cycle
        while True:
            self.cycle += 1
            content = gas_content(arrays)
            timings = self.ignition.set_burning()
            clear_totals(arrays)
            # Only the last cycle is kept, and none of the first can be that.
            trace = self._trace if self.cycle - begun >= limits.fewest else self._no_trace
            end = run_cycle(arrays, operating.speed_rpm * math.pi / 30.0, limits.courant, trace)
            refuse_broken(assembled, operating.speed_rpm, end)
            now = _state_of_cycle(assembled)
            changes, self._before = _changes(self._before, now), now
            to_come = _to_come(earlier, changes)
            earlier = changes
            if watch is not None:
                watch(self.cycle)
            stride = self._walls.follow(arrays.pipes, operating.air.temperature, 120.0 / operating.speed_rpm)
            ran = self.cycle - begun
            reason = _reason(to_come, limits, stride) or self.ignition.still_moves(limits.spark_deg)
            drift = slow.note(arrays.volumes)
            if not reason and drift > limits.volumes:
                reason = f"the gas in a volume would still warm or cool by {drift:.2g} of its temperature"
            if ran >= limits.most or (ran >= limits.fewest and not reason):
                break
            slow.move_ahead(arrays.volumes, ran)
        return Settled(
            assembled=assembled,
            operating=operating,
            trace=_cut(trace, end[4]),
            cycles=self.cycle,
            steps=end[3],
            floors=end[2],
            changes=(abs(changes[0]), *changes[1:]),
            converged=not reason,
            reason=reason,
            errors=_balance_errors(assembled, content),
            timings=timings,
        )


def _reason(changes: tuple[float, float, float], limits: CycleLimits, stride: float) -> str:
    """Which quantity still changes; empty where none does."""
    names = ("the indicated work", "the trapped mass of a cylinder", "the residual fraction of a cylinder")
    for name, change, limit in zip(names, changes, (limits.work, limits.trapped, limits.residual), strict=True):
        if not change <= limit:
            return f"{name} still changes by {change:.2g} from cycle to cycle, more than {limit:.2g}"
    if stride > limits.walls:
        return f"the wall of a pipe still changes by {stride:.2g} K from cycle to cycle, more than {limits.walls:.2g} K"
    return ""
