"""How fast and how exact the step of the pipes is, beside PyClaw where that is installed.

    python benchmarks/gas_bench.py [--pyclaw INTERPRETER]

The interpreter that has PyClaw may be another one (`pip install clawpack` needs a Fortran compiler). One core is used;
times are those of the processor, so that other work on the machine counts less.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"  # before numpy is imported
HERE: Final = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

import numpy as np  # noqa: E402 - as above
from duct_cases import FREE, UNIT_PRESSURE, UNIT_SPEED, cells_of, centres, filled, straight  # noqa: E402 - as above

from pullbook.gas.compiled import kernel  # noqa: E402 - as above
from pullbook.gas.duct import fill_pipe, run_duct  # noqa: E402 - as above
from pullbook.gas.fuels import FUELS  # noqa: E402 - as above
from pullbook.gas.grid import PipeShape, pipe_set  # noqa: E402 - as above
from pullbook.gas.mixture import gas_table  # noqa: E402 - as above
from pullbook.gas.pipes import (  # noqa: E402 - as above
    impose,
    inner_fluxes,
    inside,
    largest_step,
    predict,
    prepare,
    update,
)
from pullbook.gas.riemann import riemann_profile  # noqa: E402 - as above

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

WANTED: Final = 80.0  # million cell updates a second
SOD: Final = ((1.0, 0.0, 1.0, 1.4), (0.125, 0.0, 0.1, 1.4))
SOD_TIME: Final = 0.2
GRIDS: Final = (200, 400, 800)


@kernel
def run_network(pipes: Pipes, steps: int) -> int:
    """Steps of pipes that are all closed."""
    bad = -1
    for _ in range(steps):
        dt = 0.9 * largest_step(pipes)
        predict(pipes, dt)
        inner_fluxes(pipes)
        for pipe in range(len(pipes.start) - 1):
            for side in range(2):
                state = inside(pipes, pipe, side)
                impose(pipes, pipe, side, (0.0, state[2] * state[7], 0.0, 0.0, 0.0))
        bad, _ = update(pipes, dt)
        if bad >= 0:
            return bad
    return bad


def network(count: int, cells: int, *, tapered: bool) -> Pipes:
    """Pipes of an exhaust full of waves: real gas, friction, heat; one in four cells in a taper if wanted."""
    ends = (0.04, 0.04, 0.05, 0.05) if tapered else (0.04, 0.04, 0.04, 0.04)
    length = 0.02 * cells
    shape = PipeShape(
        position=np.array([0.0, 0.5, 0.75, 1.0]) * length,
        diameter=np.array(ends),
        cells=cells,
        bend_loss=0.3,
        wall_temperature=700.0,
    )
    pipes = pipe_set([shape] * count, gas_table(FUELS["petrol"], 0.9))
    x = centres(1.0, cells)
    for pipe in range(count):
        hot = x < 0.2 + 0.5 * pipe / count
        gas = np.where(hot, 2e5, 1e5), 20.0, np.where(hot, 1100.0, 600.0), np.where(hot, 0.95, 0.9), 0.01
        fill_pipe(pipes, pipe, gas)
    prepare(pipes)
    return pipes


def rate(count: int, cells: int, *, tapered: bool) -> tuple[float, float]:
    """Million cell updates a second: median and best of 41 bursts."""
    pipes = network(count, cells, tapered=tapered)
    steps = max(10, 200_000 // (count * cells))
    run_network(pipes, steps)
    taken = []
    for _ in range(41):
        start = time.process_time()
        if run_network(pipes, steps) >= 0:
            raise SystemExit("the network of the benchmark went wrong")
        taken.append(time.process_time() - start)
    work = 1e-6 * count * cells * steps
    return work / float(np.median(taken)), work / min(taken)


def sod_exact(cells: int) -> FloatArray:
    """Cell means of the exact density."""
    fine = (np.arange(20 * cells) + 0.5) / (20 * cells)
    means: FloatArray = riemann_profile(*SOD, (fine - 0.5) / SOD_TIME)[0].reshape(cells, 20).mean(axis=1)
    return means


def sod(cells: int) -> tuple[float, float, int]:
    """Error of the density, seconds of the fastest of seven runs, steps; by the kernel for real gas."""
    left = centres(1.0, cells) < 0.5
    best, error, steps = np.inf, 0.0, 0
    for _ in range(7):
        pressure = np.where(left, UNIT_PRESSURE, 0.1 * UNIT_PRESSURE)
        pipes = filled(straight(1.0, cells), np.where(left, 1.0, 0.125), 0.0, pressure)
        start = time.process_time()
        steps = run_duct(pipes, (FREE, FREE), SOD_TIME / UNIT_SPEED).steps
        best = min(best, time.process_time() - start)
        error = float(np.abs(pipes.primitive[0, cells_of(pipes)] - sod_exact(cells)).mean())
    return error, best, steps


def pulse() -> FloatArray:
    """Pressures of the pulse of `gas_pyclaw.py`, in its units."""
    cells = 1600
    x = centres(1.0, cells)
    ratio = (1.0 + 0.05 * np.exp(-(((x - 0.25) / 0.04) ** 2))) ** (1.0 / 7.0)
    shape = PipeShape(
        position=np.array([0.0, 0.45, 0.55, 0.65, 1.0]),
        diameter=np.array([0.04, 0.04, 0.032, 0.04, 0.04]),
        cells=cells,
        friction=0.0,
        heat=0.0,
    )
    speed = 5.0 * 1.4**0.5 * (ratio - 1.0) * UNIT_SPEED
    pipes = filled(shape, ratio**5, speed, ratio**7 * UNIT_PRESSURE)
    run_duct(pipes, (FREE, FREE), 0.45 / UNIT_SPEED)
    pressures: FloatArray = pipes.primitive[2, cells_of(pipes)] / UNIT_PRESSURE
    return pressures


def by_pyclaw(interpreter: str) -> dict[str, Any] | None:
    """What PyClaw found; nothing, and a line that says why, where it is not installed."""
    if subprocess.run([interpreter, "-c", "import clawpack"], capture_output=True, check=False).returncode != 0:
        print(f"PyClaw: left out, {interpreter} has no module clawpack (pip install clawpack; it needs gfortran)")
        return None
    with tempfile.TemporaryDirectory() as folder:  # PyClaw writes a log where it is started
        command = [interpreter, str(HERE / "gas_pyclaw.py")]
        done = subprocess.run(command, stdout=subprocess.PIPE, check=True, encoding="utf-8", cwd=folder)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def compare(other: dict[str, Any], ours: dict[int, tuple[float, float, int]]) -> None:
    """Errors side by side, and ours at the time that PyClaw takes."""
    seconds = np.log([ours[cells][1] for cells in ours])
    errors = np.log([ours[cells][0] for cells in ours])
    for key, tube in other["tubes"].items():
        cells = int(key.split()[1])
        error = float(np.abs(np.array(tube["density"]) - sod_exact(cells)).mean())
        at_its_time = float(np.exp(np.interp(np.log(tube["seconds"]), seconds, errors)))
        speed = 1e-6 * cells * tube["steps"] / tube["seconds"]
        print(
            f"PyClaw {key:9} error {error:.2e}  {1e3 * tube['seconds']:7.2f} ms {speed:6.1f} M/s"
            f"   ours in that time {at_its_time:.2e}: 1/{error / at_its_time:.1f}"
        )
    gap = np.abs(pulse() - np.array(other["pulse"]))
    print(f"pulse of 0.05 through 40-32-40 tapers, 1600 cells: differs from PyClaw by {gap.max():.1e} at most")


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pyclaw", default=sys.executable, help="interpreter that has PyClaw")
    interpreter = parser.parse_args().pyclaw
    print(f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores seen, one used")
    for count, cells, tapered in ((20, 24, False), (20, 24, True), (4, 120, False), (1, 4000, False)):
        median, best = rate(count, cells, tapered=tapered)
        what = f"{count} pipes of {cells} cells{', a quarter tapered' if tapered else ''}"
        print(f"{what:40} {median:6.1f} M cell updates/s (best {best:.1f}), wanted {WANTED:g}")
    ours = {cells: sod(cells) for cells in (100, 200, 400, 800, 1600, 3200, 6400)}
    for cells, (error, seconds, steps) in ours.items():
        speed = 1e-6 * cells * steps / seconds
        print(f"Sod {cells:5}: error {error:.2e}  {1e3 * seconds:7.2f} ms {speed:6.1f} M/s")
    other = by_pyclaw(interpreter)
    if other is not None:
        compare(other, ours)


if __name__ == "__main__":
    main()
