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
from pullbook.engine.settling import (
    CycleLimits,
    balance_errors,
    changes_between,
    changes_to_come,
    largest_changes,
    state_of_cycle,
    still_changing,
)
from pullbook.engine.slow_volumes import SlowVolumes
from pullbook.engine.wall_balance import WallBalance
from pullbook.gas.engine_arrays import Trace
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
_LOOSENED: Final = ("work", "trapped", "residual", "walls", "spark_deg")


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
        loose = replace(limits, **{name: _LOOSER * getattr(limits, name) for name in _LOOSENED})
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
            hand_over(start.assembled.arrays, arrays, self._walls.slots)
            self.ignition.begin_at([one.half_burned_deg for one in start.timings])
            self.cycle, self._before = start.cycles, state_of_cycle(start.assembled)

    def settle(self, limits: CycleLimits, watch: Callable[[int], None] | None) -> Settled:
        """Run until the cycles repeat, or there have been too many."""
        assembled, operating = self.assembled, self.operating
        arrays = assembled.arrays
        changes: list[FloatArray] = []
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
            now = state_of_cycle(assembled)
            changes.append(changes_between(self._before, now))
            self._before = now
            to_come = largest_changes(changes_to_come(changes))
            if watch is not None:
                watch(self.cycle)
            stride = self._walls.follow(arrays.pipes, operating.air.temperature, 120.0 / operating.speed_rpm)
            ran = self.cycle - begun
            reason = still_changing(to_come, limits, stride) or self.ignition.still_moves(limits.spark_deg)
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
            changes=largest_changes(changes[-1]),
            converged=not reason,
            reason=reason,
            errors=balance_errors(assembled, content),
            timings=timings,
        )
