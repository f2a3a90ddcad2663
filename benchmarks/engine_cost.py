"""How the cost of the virtual engine grows with cells, cylinders, speeds and threads.

``python benchmarks/engine_cost.py`` prints the table; with ``--write`` it becomes that of the documentation, together
with the words that are told from it. Times are those of the processor that runs the process, which other work on the
machine hardly changes, minima of several runs; the clock on the wall stands beside them. About two minutes.
"""

from __future__ import annotations

import os
import platform
import sys
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

ROOT: Final = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "docs"))

from engine_cost_page import CYCLES, ENGINES, Cost, read_table, words, write_table  # noqa: E402 - its folder has to be named first

from pullbook.engine.cycle import CycleLimits  # noqa: E402 - as above
from pullbook.engine.engine_file import parse_engine  # noqa: E402 - as above
from pullbook.engine.layouts import build_network  # noqa: E402 - as above
from pullbook.engine.simulate import RunPlan, simulate_curve, simulate_speed  # noqa: E402 - as above
from pullbook.engine.templates import template_text  # noqa: E402 - as above

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

TABLE: Final = ROOT / "docs" / "methods" / "engine-cost.csv"
WORDS: Final = TABLE.with_suffix(".md")
CELLS: Final = (0.040, 0.030, 0.020, 0.015, 0.010, 0.0075, 0.005)  # m
POINTS: Final = (1, 2, 4, 8, 16, 24)
CURVE_CELL: Final = 0.030  # m
THREADED_POINTS: Final = 12
ONE_CYCLE: Final = CycleLimits(fewest=1, most=1, coarser=1.0)
SIX_CYCLES: Final = CycleLimits(fewest=CYCLES, most=CYCLES, coarser=1.0)
SPECS: Final = {name: parse_engine(template_text(name)) for name in ENGINES}
NETWORKS: Final = {name: build_network(spec) for name, spec in SPECS.items()}


def least(job: Callable[[], object], enough: float = 1.0) -> tuple[float, float]:
    """Shortest times of the processor and of the clock in two runs, or in up to nine where they are short. [s]."""
    times = []
    while len(times) < 2 or (len(times) < 9 and sum(one[0] for one in times) < enough):
        start = time.process_time(), time.perf_counter()
        job()
        times.append((time.process_time() - start[0], time.perf_counter() - start[1]))
    return min(one[0] for one in times), min(one[1] for one in times)


def cost_of(study: str, engine: str, plan: RunPlan, points: int, job: Callable[[], object]) -> Cost:
    """One row of the table."""
    once = RunPlan(cell_size=plan.cell_size, limits=ONE_CYCLE)
    point, _ = simulate_speed(SPECS[engine], NETWORKS[engine], 4000.0, once)
    processor, clock = least(job)
    return Cost(
        study=study, engine=engine, cylinders=len(NETWORKS[engine].cylinders), cell_mm=1e3 * plan.cell_size,
        cells=point.quality.cells, points=points, threads=plan.threads, processor_s=processor, clock_s=clock,
    )  # fmt: skip


def measured() -> Iterator[Cost]:
    """All rows of the table."""
    for engine, spec in SPECS.items():
        for cell in CELLS:
            plan = RunPlan(cell_size=cell, limits=SIX_CYCLES)
            yield cost_of("cells", engine, plan, 1, partial(simulate_speed, spec, NETWORKS[engine], 4000.0, plan))
    four = SPECS["inline-four"]
    plan = RunPlan(cell_size=CURVE_CELL, estimate_grid_error=False, limits=SIX_CYCLES)
    for points in POINTS:
        # A cycle takes steps in proportion to its time: few speeds have the same mean time of a cycle as many.
        share = (np.arange(points) + 0.5) / points
        speeds = tuple((1.0 / (share / 2000.0 + (1.0 - share) / 6500.0)).tolist())
        yield cost_of("points", "inline-four", plan, points, partial(simulate_curve, four, speeds, plan))
    speeds = tuple(np.linspace(2000.0, 6500.0, THREADED_POINTS).tolist())
    for threads in sorted({1, os.cpu_count() or 1}):
        plan = RunPlan(cell_size=CURVE_CELL, estimate_grid_error=False, threads=threads, limits=SIX_CYCLES)
        yield cost_of("threads", "inline-four", plan, THREADED_POINTS, partial(simulate_curve, four, speeds, plan))


def machine() -> dict[str, str]:
    """Model of the processor, version of Python, and how busy the machine is."""
    model = platform.processor() or platform.machine()
    listed = Path("/proc/cpuinfo")
    if listed.exists():
        named = [line.partition(":")[2].strip() for line in listed.read_text(encoding="utf-8").splitlines()
                 if line.startswith("model name")]  # fmt: skip
        model = named[0] if named else model
    return {
        "processor": model.replace("(R)", "").replace("(TM)", ""),
        "cores": str(os.cpu_count()),
        "python": platform.python_version(),
        "load": f"{os.getloadavg()[0]:.1f}",
    }


def main() -> None:
    """Measure; print, and write where that is asked for."""
    for engine, spec in SPECS.items():
        simulate_speed(spec, NETWORKS[engine], 4000.0, RunPlan(limits=ONE_CYCLE))  # compiled, and warm
    where, costs = machine(), []
    for cost in measured():
        costs.append(cost)
        print(
            f"{cost.study:8}{cost.engine:16}{cost.cell_mm:5.1f} mm {cost.cells:5d} cells {cost.points:3d} points "
            f"{cost.threads:2d} threads {cost.processor_s:8.3f} s, by the clock {cost.clock_s:.3f} s",
            flush=True,
        )
    if "--write" in sys.argv[1:]:
        TABLE.write_text(write_table(costs, where), encoding="utf-8")
        # Told from what was written, whose numbers are rounded.
        WORDS.write_text(words(*read_table(TABLE.read_text(encoding="utf-8"))), encoding="utf-8")
        print(f"Written: {TABLE.relative_to(ROOT)}, {WORDS.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
