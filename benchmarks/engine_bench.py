"""Speed of the virtual engine: curves of the shipped V8, the real-time factor, two cores against one, a cold start.

Run by ``python benchmarks/engine_bench.py``. Times are of the processor that runs the process (one core), minima of
three (mixtures and lobes are computed before); with two threads and for the cold start it is the clock on the wall.
"""

from __future__ import annotations

import math
import os
import platform
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.simulate import RunPlan, simulate_curve, simulate_speed
from pullbook.engine.templates import template_text
from pullbook.gas.engine_cycle import run_cycle

if TYPE_CHECKING:
    from collections.abc import Callable

# 30 mm: torque within 0.2 % of cells of 5 mm. 40 mm: within 0.4 %, and differences of exhausts within 1 N m.
CELLS = (0.030, 0.040)
SPEEDS = tuple(float(rpm) for rpm in range(2000, 6501, 409))  # twelve points
PLAN = RunPlan(cell_size=0.030, estimate_grid_error=False, threads=1)
SPEC = parse_engine(template_text("v8-cross-plane"))
NETWORK = build_network(SPEC)


def least(job: Callable[[], object], clock: Callable[[], float]) -> float:
    """Shortest of three runs. [s]."""
    times = []
    for _ in range(3):
        start = clock()
        job()
        times.append(clock() - start)
    return min(times)


def curve(plan: RunPlan) -> float:
    """Time of a curve of twelve points. [s]."""
    return least(lambda: simulate_curve(SPEC, SPEEDS, plan), time.process_time)


def cold_start() -> tuple[float, float]:
    """First point in a new process with an empty cache of kernels, and again with a full one. [s]."""
    code = (
        "from pullbook.engine.engine_file import parse_engine;from pullbook.engine.templates import template_text;"
        "from pullbook.engine.simulate import RunPlan,simulate_curve;"
        "simulate_curve(parse_engine(template_text('single')),(3000.0,),RunPlan(cell_size=.03,estimate_grid_error=False))"
    )
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "NUMBA_CACHE_DIR": folder}
        times = []
        for _ in range(2):
            start = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], env=environment, check=True)
            times.append(time.perf_counter() - start)
    return times[0], times[1]


def real_time_factor(cell_size: float) -> float:
    """Engine time over processor time for a settled cycle at 6000 rpm."""
    _, settled = simulate_speed(SPEC, NETWORK, 6000.0, replace(PLAN, cell_size=cell_size))
    arrays, trace = settled.assembled.arrays, settled.trace
    seconds = least(lambda: run_cycle(arrays, 6000.0 * math.pi / 30.0, PLAN.limits.courant, trace), time.process_time)
    return 120.0 / 6000.0 / seconds


def machine() -> str:
    """Name of the processor, where the system tells it."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        return next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or platform.machine()


def main() -> None:
    """Print the figures."""
    write = sys.stdout.write
    simulate_speed(SPEC, NETWORK, 3000.0, PLAN)
    write(f"{machine()}, Python {platform.python_version()}\n")
    for cell in CELLS:
        seconds = curve(replace(PLAN, cell_size=cell))
        write(
            f"12-point V8 curve, {1e3 * cell:.0f} mm cells: {seconds:.2f} s (wanted 0.6; 2 for torque within 0.2 %)\n"
        )
    fine = replace(PLAN, cell_size=0.005)
    exact, _ = simulate_speed(SPEC, NETWORK, 4000.0, fine)
    for cell in (0.040, 0.030, 0.020, 0.010):
        found, _ = simulate_speed(SPEC, NETWORK, 4000.0, replace(PLAN, cell_size=cell))
        off = 100.0 * (found.torque / exact.torque - 1.0)
        write(f"  torque at 4000 rpm with {1e3 * cell:.0f} mm cells: {off:+.2f} % of that with 5 mm\n")
    write(f"12-point V8 curve, 10 mm cells: {curve(replace(PLAN, cell_size=0.010)):.2f} s\n")
    for cell in CELLS:
        write(f"real-time factor at 6000 rpm, {1e3 * cell:.0f} mm cells: {real_time_factor(cell):.2f} (wanted 3)\n")
    one = least(lambda: simulate_curve(SPEC, SPEEDS, PLAN), time.perf_counter)
    two = least(lambda: simulate_curve(SPEC, SPEEDS, replace(PLAN, threads=2)), time.perf_counter)
    write(f"two cores against one: {one / two:.2f} times (wanted 1.8)\n")
    cold, warm = cold_start()
    write(f"cold start: {cold:.1f} s (wanted 10), warm {warm:.2f} s (wanted under 1)\n")


if __name__ == "__main__":
    main()
