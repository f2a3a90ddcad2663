"""Sod's tube and pulses through tapers by PyClaw, as JSON; run by an interpreter that has PyClaw.

    python benchmarks/gas_pyclaw.py                                        # for gas_bench.py, which starts it
    python benchmarks/gas_pyclaw.py --reference > tests/references/pyclaw.json      # two minutes

PyClaw: K. T. Mandli et al., Clawpack: building an open source ecosystem for solving hyperbolic PDEs, PeerJ Computer
Science 2 (2016) e68. Classic algorithm, second order, MC limiter, Fortran kernels, Courant number 0.9. The tapers are a
source of geometry beside the plain equations, second order by Strang's splitting: a way to them that has nothing in
common with slopes about a steady flow.
"""

from __future__ import annotations

import argparse
import json
import logging
import os
import time
from typing import TYPE_CHECKING, Any, Final

os.environ["OMP_NUM_THREADS"] = "1"

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

GAMMA: Final = 1.4
SOLVERS: Final = {"Roe": "euler_with_efix_1D", "HLLE": "euler_hlle_1D"}
PULSE_CELLS: Final = 1600
PULSE_TIME: Final = 0.45
SOD_TIME: Final = 0.2
# Positions and diameters of the duct of length one.
DUCT: Final = ((0.0, 0.45, 0.55, 0.65, 1.0), (0.04, 0.04, 0.032, 0.04, 0.04))
REFERENCE_CELLS: Final = 6400
KEPT: Final = 200  # means kept of a reference
HEIGHTS: Final = {"small pulse": 0.05, "large pulse": 0.6}


def controller(cells: int, solver_name: str, until: float) -> Any:  # noqa: ANN401 - PyClaw has no types
    """PyClaw's controller of a tube of length one, at rest with density and pressure one."""
    from clawpack import pyclaw, riemann

    solver = pyclaw.ClawSolver1D(getattr(riemann, solver_name))
    solver.kernel_language = "Fortran"
    solver.limiters = pyclaw.limiters.tvd.MC
    solver.order = 2
    solver.cfl_desired, solver.cfl_max = 0.9, 1.0
    solver.max_steps = 100 * cells  # it would stop at 10,000 without a word
    solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.extrap
    domain = pyclaw.Domain([pyclaw.Dimension(0.0, 1.0, cells, name="x")])
    state = pyclaw.State(domain, 3)
    state.problem_data.update(gamma=GAMMA, gamma1=GAMMA - 1.0, efix=False)
    state.q[0], state.q[1], state.q[2] = 1.0, 0.0, 1.0 / (GAMMA - 1.0)
    run = pyclaw.Controller()
    run.solution, run.solver = pyclaw.Solution(state, domain), solver
    run.tfinal, run.num_output_times = until, 1
    run.keep_copy, run.output_format, run.verbosity = False, None, 0
    return run


def sod_tube(cells: int, solver_name: str) -> tuple[Any, float, int]:
    """Density, momentum, energy at 0.2; seconds; steps."""
    run = controller(cells, solver_name, SOD_TIME)
    left = np.arange(cells) < cells // 2
    q = run.solution.state.q
    q[0], q[2] = np.where(left, 1.0, 0.125), np.where(left, 1.0, 0.1) / (GAMMA - 1.0)
    start = time.process_time()
    run.run()
    return run.solution.state.q, time.process_time() - start, int(run.solver.status["numsteps"])


def duct_pulse(cells: int, height: float) -> Any:  # noqa: ANN401 - PyClaw has no types
    """Density, momentum, energy after a simple wave of this height has met the two tapers."""
    run = controller(cells, SOLVERS["Roe"], PULSE_TIME)
    x = (np.arange(cells) + 0.5) / cells
    ratio = (1.0 + height * np.exp(-(((x - 0.25) / 0.04) ** 2))) ** (1.0 / 7.0)
    speed = 5.0 * GAMMA**0.5 * (ratio - 1.0)
    density, pressure = ratio**5, ratio**7
    q = run.solution.state.q
    q[0], q[1], q[2] = density, density * speed, pressure / (GAMMA - 1.0) + 0.5 * density * speed**2
    areas = np.interp(np.arange(cells + 1) / cells, *DUCT) ** 2
    growth = np.diff(np.log(areas)) * cells

    def rate(gas: Any) -> Any:  # noqa: ANN401 - as above
        u = gas[1] / gas[0]
        p = (GAMMA - 1.0) * (gas[2] - 0.5 * gas[1] * u)
        return -growth * u * np.array([gas[0], gas[1], gas[2] + p])

    def widen(_: object, state: Any, dt: float) -> None:  # noqa: ANN401 - as above
        gas = state.q
        gas += dt * rate(gas + 0.5 * dt * rate(gas))

    run.solver.source_split = 2
    run.solver.step_source = widen  # called with half of the step before and after the plain equations
    run.run()
    return run.solution.state.q


def means(gas: Any) -> Any:  # noqa: ANN401 - PyClaw has no types
    """Means over `KEPT` parts of the tube."""
    return gas.reshape(3, KEPT, -1).mean(axis=2)


def reference() -> dict[str, Any]:
    """What the tests compare the pipes with: means of a fine grid, and how far half as many cells are from them."""
    import clawpack

    solvers: dict[str, Callable[[int], Any]] = {
        "Sod": lambda cells: sod_tube(cells, SOLVERS["Roe"])[0],
        **{name: (lambda cells, height=height: duct_pulse(cells, height)) for name, height in HEIGHTS.items()},
    }
    cases = {}
    for name, solve in solvers.items():
        fine, coarse = means(solve(REFERENCE_CELLS)), means(solve(REFERENCE_CELLS // 2))
        kept = {
            row: np.round(values, 9).tolist()
            for row, values in zip(("density", "momentum", "energy"), fine, strict=True)
        }
        cases[name] = {
            "time": SOD_TIME if name == "Sod" else PULSE_TIME,
            "height": HEIGHTS.get(name),
            "change_from_half_the_cells": np.abs(fine - coarse).mean(axis=1).tolist(),
            **kept,
        }
    return {
        "made_by": "python benchmarks/gas_pyclaw.py --reference",
        "program": f"PyClaw {clawpack.__version__}",
        "algorithm": "classic, Roe's solver, order 2, MC limiter, Courant number 0.9; tapers by Strang's splitting",
        "cells": REFERENCE_CELLS,
        "units": "length 1, density and pressure of the still gas 1, gamma 1.4; means over equal parts of the tube",
        "duct": {"position": DUCT[0], "diameter": DUCT[1]},
        "cases": cases,
    }


def for_benchmark() -> dict[str, Any]:
    """Densities of Sod's tube with the fastest of five times, and pressures of the small pulse."""
    tubes = {}
    for name, solver_name in SOLVERS.items():
        for cells in (200, 400, 800):
            runs = [sod_tube(cells, solver_name) for _ in range(5)]
            gas, _, steps = runs[-1]
            seconds = min(run[1] for run in runs)
            tubes[f"{name} {cells}"] = {"density": gas[0].tolist(), "seconds": seconds, "steps": steps}
    gas = duct_pulse(PULSE_CELLS, HEIGHTS["small pulse"])
    pressure = (GAMMA - 1.0) * (gas[2] - 0.5 * gas[1] ** 2 / gas[0])
    return {"tubes": tubes, "pulse": pressure.tolist()}


def main() -> None:
    """Print everything as one JSON object."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--reference", action="store_true", help="print what the tests compare with")
    logging.disable(logging.CRITICAL)
    print(json.dumps(reference() if parser.parse_args().reference else for_benchmark()))


if __name__ == "__main__":
    main()
