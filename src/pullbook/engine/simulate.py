"""EngineSpec and speeds -> SimulatedCurve: the virtual engine on its bench."""

from __future__ import annotations

from concurrent.futures import FIRST_COMPLETED, ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.cycle import CycleLimits, run_until_settled
from pullbook.engine.friction_models import friction_by_pressure, friction_of, friction_remark
from pullbook.engine.layouts import build_network
from pullbook.engine.operating import Air, Burn, Operating
from pullbook.engine.outputs import run_point
from pullbook.engine.reflection_records import port_reflections
from pullbook.errors import OutOfRangeError, SimulationError
from pullbook.gas.fuels import FUELS
from pullbook.gas.wall_heat import ANNAND, HOHENBERG, WOSCHNI
from pullbook.records.simulation import SimulatedCurve

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from concurrent.futures import Future

    from pullbook.engine.cycle import Settled
    from pullbook.engine.network import Network
    from pullbook.engine.parts import EngineSpec
    from pullbook.records.simulation import RunPoint

__all__ = ["CELL_SIZE", "FINE_CELL_SIZE", "RunPlan", "operating_of", "simulate_curve", "simulate_speed"]

CELL_SIZE: Final = 0.020  # m
FINE_CELL_SIZE: Final = 0.010  # m
COARSER: Final = 1.5  # cells of the run that the error of the grid is estimated from
_SPEEDS: Final = (300.0, 20000.0)  # rpm
_HEAT_MODELS: Final = {"woschni": WOSCHNI, "annand": ANNAND, "hohenberg": HOHENBERG}
_EFFICIENCY: Final = 0.98  # share of the heat released that the correlation starts from


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlan:
    """How a curve is computed.

    Attributes
    ----------
    cell_size : float
        Length of the cells. [m]
    estimate_grid_error : bool
        Run every speed on cells of 1.5 times the size too.
    threads : int
        Speeds computed at a time. Results do not depend on it.
    limits : CycleLimits
        When a point has settled.
    reflections : bool
        Follow the fronts of all ports to where they are reflected and back.
    """

    cell_size: float = CELL_SIZE
    estimate_grid_error: bool = True
    threads: int = 1
    limits: CycleLimits = field(default_factory=CycleLimits)
    reflections: bool = False


def operating_of(spec: EngineSpec, speed_rpm: float) -> Operating:
    """How the engine is run at a speed.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    speed_rpm : float
        Engine speed, 300 to 20000. [rpm]

    Returns
    -------
    Operating
        Air, mixture, burning.

    Raises
    ------
    OutOfRangeError
        If the speed is outside its range.

    Examples
    --------
    >>> from pullbook.engine.engine_file import parse_engine
    >>> operating_of(parse_engine(""), 4000.0).lambda_
    0.88
    """
    if not _SPEEDS[0] <= speed_rpm <= _SPEEDS[1]:
        raise OutOfRangeError(
            "the engine speed is out of range", where="rpm", value=f"{speed_rpm:g}", remedy="give 300 to 20000 rpm"
        )
    spark = spec.spark
    return Operating(
        speed_rpm=speed_rpm,
        air=Air(
            pressure=spec.ambient.pressure,
            temperature=spec.ambient.temperature,
            humidity=spec.ambient.humidity,
        ),
        fuel=FUELS[spec.fuel.name],
        lambda_=spec.fuel.mixture.at(speed_rpm),
        evaporated=spec.fuel.evaporated,
        burn=Burn(
            ca50_deg=spark.ca50_deg.at(speed_rpm) if spark.mode == "ca50" else None,
            spark_deg=-spark.advance_deg.at(speed_rpm) if spark.mode == "held" else None,
            friction_by_pressure=friction_by_pressure(spec.friction),
            form=spec.combustion.shape,
            duration=spec.combustion.duration,
            efficiency=spec.combustion.efficiency / _EFFICIENCY,
        ),
        heat_model=_HEAT_MODELS[spec.heat.model],
        heat_factor=spec.heat.factor,
    )


def simulate_speed(
    spec: EngineSpec,
    network: Network,
    speed_rpm: float,
    plan: RunPlan,
    *,
    waves: bool = False,
    start: Settled | None = None,
) -> tuple[RunPoint, Settled]:
    """One speed.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    network : Network
        Its network.
    speed_rpm : float
        Engine speed. [rpm]
    plan : RunPlan
        How to compute.
    waves : bool
        Also write down all cells over the last cycle.
    start : Settled, optional
        The same engine at the same speed on other cells, to begin from.

    Returns
    -------
    point : RunPoint
        Its numbers.
    settled : Settled
        Its last cycle.

    Raises
    ------
    SimulationError
        If the run went wrong.
    """
    waves = waves or plan.reflections
    settled = run_until_settled(
        network, operating_of(spec, speed_rpm), plan.cell_size, plan.limits, waves=waves, start=start
    )
    point = run_point(settled, friction_of(spec), spec.fuel.octane_number)
    if plan.reflections:
        point = replace(point, reflections=port_reflections(settled))
    return point, settled


def simulate_curve(
    spec: EngineSpec,
    speeds_rpm: Sequence[float],
    plan: RunPlan,
    progress: Callable[[int, int], None] | None = None,
) -> SimulatedCurve:
    """Torque and all the rest over speed.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    speeds_rpm : sequence of float
        Engine speeds. [rpm]
    plan : RunPlan
        How to compute.
    progress : callable, optional
        Called with the speeds done and their number; what is done when it raises KeyboardInterrupt is returned.

    Returns
    -------
    SimulatedCurve
        Points in order of speed; those that went wrong, or were not reached, are named in `failures`.

    Notes
    -----
    Every point starts from the same gas at rest, so that it does not depend on what else is computed, nor in which
    order or on how many processors.
    """
    network = build_network(spec)
    for speed in speeds_rpm:
        operating_of(spec, speed)
    done: dict[float, tuple[RunPoint, float]] = {}
    failures: dict[float, str] = {}
    interrupted = False
    with ThreadPoolExecutor(plan.threads) as pool:
        # The highest speeds take the fewest steps: long ones first.
        waiting = {pool.submit(_with_error, spec, network, speed, plan): speed for speed in sorted(speeds_rpm)}
        try:
            _collect(waiting, done, failures, progress)
        except KeyboardInterrupt:
            for one, speed in waiting.items():
                one.cancel()
                failures[speed] = f"{speed:g} rpm: interrupted before it was done."
            interrupted = True
    _keep(waiting, done, failures)
    speeds = sorted(done)
    remark = friction_remark(spec.friction)
    return SimulatedCurve(
        name=spec.block.name,
        points=tuple(done[speed][0] for speed in speeds),
        failures=tuple(failures[speed] for speed in sorted(failures)),
        grid_error=np.array([done[speed][1] for speed in speeds]),
        assumed=tuple(f"{one.key} = {one.value}: {one.why}" for one in spec.assumed),
        remarks=(remark,) if remark else (),
        interrupted=interrupted,
    )


def _keep(
    waiting: dict[Future[tuple[RunPoint, float]], float],
    done: dict[float, tuple[RunPoint, float]],
    failures: dict[float, str],
) -> None:
    """Keep points that were under way at an interrupt and have been finished since."""
    for one, speed in waiting.items():
        if one.done() and not one.cancelled() and one.exception() is None:
            done[speed] = one.result()
            del failures[speed]


def _collect(
    waiting: dict[Future[tuple[RunPoint, float]], float],
    done: dict[float, tuple[RunPoint, float]],
    failures: dict[float, str],
    progress: Callable[[int, int], None] | None,
) -> None:
    """Take points as they come; what is left in `waiting` was not reached."""
    count = len(waiting)
    while waiting:
        finished, _ = wait(waiting, return_when=FIRST_COMPLETED)
        for one in finished:
            speed = waiting.pop(one)
            try:
                done[speed] = one.result()
            except SimulationError as error:
                failures[speed] = str(error)
        if progress is not None:
            progress(count - len(waiting), count)


def _with_error(spec: EngineSpec, network: Network, speed_rpm: float, plan: RunPlan) -> tuple[RunPoint, float]:
    """Point, and what the size of its cells adds to its torque; of either sign, for differences of curves. [N m]."""
    if not plan.estimate_grid_error:
        return simulate_speed(spec, network, speed_rpm, plan)[0], float("nan")
    coarse_plan = RunPlan(cell_size=COARSER * plan.cell_size, estimate_grid_error=False, threads=1, limits=plan.limits)
    coarse, settled = simulate_speed(spec, network, speed_rpm, coarse_plan)
    # The finer run begins where the coarser has ended, which saves most of its cycles.
    point, _ = simulate_speed(spec, network, speed_rpm, plan, start=settled)
    # An error that grows with the cells to the power 1 to 2: the first power gives the larger estimate.
    return point, (coarse.torque - point.torque) / (COARSER - 1.0)
