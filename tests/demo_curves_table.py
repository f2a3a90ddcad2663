"""The table of the demo's curves, computed by the virtual engine.

``python tests/demo_curves_table.py`` (``python3 tasks.py demo-curves``) writes src/pullbook/bench/demo-curves.csv anew.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pullbook.bench.demo_curves import COLUMNS, TABLE
from pullbook.bench.demo_engine import SETUPS, engine_file
from pullbook.engine.engine_file import parse_engine
from pullbook.engine.simulate import RunPlan, operating_of, simulate_curve

if TYPE_CHECKING:
    from collections.abc import Sequence

SPEEDS = tuple(float(rpm) for rpm in range(1900, 7151, 50))
CELL_SIZE = 0.020  # m
GOAL = Path(__file__).resolve().parents[1] / "src" / "pullbook" / "bench" / TABLE


def header() -> str:
    """Remarks at the top of the table: what it is and how it was made."""
    lines = [
        "Full-load curves of the demo's builds, INVENTED: computed by pullbook's virtual engine, measured nowhere.",
        "Written by `python3 tasks.py demo-curves`; not to be edited by hand.",
        f"Computed with pullbook.engine.simulate, cells of {1000 * CELL_SIZE:g} mm, each speed run until it repeats,",
        "in the air of the engine files (25 degC, 99 kPa of dry air, the reference of SAE J1349).",
        "Engine files: pullbook.bench.demo_engine.engine_file, in engines/ of the session that `pullbook demo` writes.",
    ]
    return "\n".join(f"# {line}" for line in lines) + "\n"


def curve_rows(build: str, speeds: Sequence[float], cell_size: float = CELL_SIZE, threads: int = 1) -> list[str]:
    """Lines of the table for some speeds of a build."""
    spec = parse_engine(engine_file(build), where=f"engine file of build {build}")
    curve = simulate_curve(spec, speeds, RunPlan(cell_size=cell_size, estimate_grid_error=False, threads=threads))
    unsettled = [f"{point.speed_rpm:g} rpm: {point.quality.reason}" for point in curve.points if point.quality.reason]
    if curve.failures or unsettled:
        sys.exit("\n".join([f"build {build} cannot be put into the table:", *curve.failures, *unsettled]))
    return [
        f"{build},{point.speed_rpm:.0f},{point.torque:.3f},{1000.0 * point.fuel_flow:.5f},"
        f"{operating_of(spec, point.speed_rpm).lambda_:.4f}"
        for point in curve.points
    ]


def main() -> None:
    rows: list[str] = []
    for build in SETUPS:
        sys.stdout.write(f"build {build}: {len(SPEEDS)} speeds\n")
        sys.stdout.flush()
        rows += curve_rows(build, SPEEDS, threads=os.cpu_count() or 1)
    GOAL.write_text(header() + "\n".join([COLUMNS, *rows]) + "\n", encoding="utf-8")
    sys.stdout.write(f"Table: {GOAL}\n")


if __name__ == "__main__":
    main()
