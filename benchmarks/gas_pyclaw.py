"""Sod's tube and a pulse through tapers by PyClaw, as JSON for `gas_bench.py`; run by an interpreter that has PyClaw.

    python benchmarks/gas_pyclaw.py

PyClaw: K. T. Mandli et al., Clawpack: building an open source ecosystem for solving hyperbolic PDEs, PeerJ Computer
Science 2 (2016) e68. Classic algorithm, second order, MC limiter, Fortran kernels, Courant number 0.9.
"""

from __future__ import annotations

import json
import logging
import os
import time
from typing import Any, Final

os.environ["OMP_NUM_THREADS"] = "1"

import numpy as np

GAMMA: Final = 1.4
SOLVERS: Final = {"Roe": "euler_with_efix_1D", "HLLE": "euler_hlle_1D"}
PULSE_CELLS: Final = 1600
PULSE_TIME: Final = 0.45


def controller(cells: int, solver_name: str, until: float) -> Any:  # noqa: ANN401 - PyClaw has no types
    """PyClaw's controller of a tube of length one, at rest with density and pressure one."""
    from clawpack import pyclaw, riemann

    solver = pyclaw.ClawSolver1D(getattr(riemann, solver_name))
    solver.kernel_language = "Fortran"
    solver.limiters = pyclaw.limiters.tvd.MC
    solver.order = 2
    solver.cfl_desired, solver.cfl_max = 0.9, 1.0
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


def sod(cells: int, solver_name: str) -> tuple[list[float], float, int]:
    """Densities at 0.2, seconds and steps of the fastest of five runs."""
    best, density, steps = np.inf, [], 0
    for _ in range(5):
        run = controller(cells, solver_name, 0.2)
        left = np.arange(cells) < cells // 2
        q = run.solution.state.q
        q[0], q[2] = np.where(left, 1.0, 0.125), np.where(left, 1.0, 0.1) / (GAMMA - 1.0)
        start = time.process_time()
        run.run()
        best = min(best, time.process_time() - start)
        density, steps = run.solution.state.q[0].tolist(), int(run.solver.status["numsteps"])
    return density, best, steps


def pulse() -> list[float]:
    """Pressures after a pulse of 0.05 has met two tapers; areas as a source after each step (Godunov's splitting)."""
    run = controller(PULSE_CELLS, SOLVERS["Roe"], PULSE_TIME)
    x = (np.arange(PULSE_CELLS) + 0.5) / PULSE_CELLS
    ratio = (1.0 + 0.05 * np.exp(-(((x - 0.25) / 0.04) ** 2))) ** (1.0 / 7.0)
    sound, speed = GAMMA**0.5 * ratio, 5.0 * GAMMA**0.5 * (ratio - 1.0)
    density, pressure = ratio**5, ratio**7
    q = run.solution.state.q
    q[0], q[1], q[2] = density, density * speed, pressure / (GAMMA - 1.0) + 0.5 * density * speed**2
    del sound
    knots, diameters = [0.0, 0.45, 0.55, 0.65, 1.0], [0.04, 0.04, 0.032, 0.04, 0.04]
    fine = np.interp(np.arange(PULSE_CELLS + 1) / PULSE_CELLS, knots, diameters) ** 2
    growth = np.diff(np.log(fine)) * PULSE_CELLS

    def widen(_: object, state: Any, dt: float) -> None:  # noqa: ANN401 - PyClaw has no types
        gas = state.q
        u = gas[1] / gas[0]
        p = (GAMMA - 1.0) * (gas[2] - 0.5 * gas[1] * u)
        loss = dt * growth * u
        gas[2] -= loss * (gas[2] + p)
        gas[1] -= loss * gas[1]
        gas[0] -= loss * gas[0]

    run.solver.step_source = widen
    run.run()
    gas = run.solution.state.q
    found: list[float] = ((GAMMA - 1.0) * (gas[2] - 0.5 * gas[1] ** 2 / gas[0])).tolist()
    return found


def main() -> None:
    """Print everything as one JSON object."""
    logging.disable(logging.CRITICAL)
    tubes = {}
    for name, solver_name in SOLVERS.items():
        for cells in (200, 400, 800):
            density, seconds, steps = sod(cells, solver_name)
            tubes[f"{name} {cells}"] = {"density": density, "seconds": seconds, "steps": steps}
    print(json.dumps({"tubes": tubes, "pulse": pulse()}))


if __name__ == "__main__":
    main()
