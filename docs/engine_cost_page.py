"""What the virtual engine costs: the table that `benchmarks/engine_cost.py` writes, and its words.

The words stand in the documentation as text, and a test holds them to the table.
"""

from __future__ import annotations

import csv
import io
import textwrap
from dataclasses import astuple, dataclass, fields
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

CYCLES: Final = 6  # of every point in the study of cells; about what a point takes
ENGINES: Final = {"single": "single", "inline-four": "four", "v8-cross-plane": "V8"}
_QUIET: Final = 0.5  # processes that want to run, before the measurement begins


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """One row of the table.

    Attributes
    ----------
    study : str
        What was varied: "cells" (one point of six cycles), "points" or "threads" (a curve).
    engine : str
        Name of the shipped engine.
    cylinders : int
        How many it has.
    cell_mm : float
        Length that the cells were asked to have. [mm]
    cells, points, threads : int
        Cells of the engine, speeds of the curve, speeds at a time.
    processor_s, clock_s : float
        Time of the processor, and of the clock on the wall. [s]
    """

    study: str
    engine: str
    cylinders: int
    cell_mm: float
    cells: int
    points: int
    threads: int
    processor_s: float
    clock_s: float


def write_table(costs: list[Cost], machine: dict[str, str]) -> str:
    """CSV with what was measured; the machine stands above it, behind number signs."""
    buffer = io.StringIO()
    for key, value in machine.items():
        buffer.write(f"# {key}: {value}\n")
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow([field.name for field in fields(Cost)])
    for cost in costs:
        writer.writerow([f"{value:.4g}" if isinstance(value, float) else value for value in astuple(cost)])
    return buffer.getvalue()


def read_table(text: str) -> tuple[list[Cost], dict[str, str]]:
    """Rows and machine of what `write_table` wrote."""
    lines = text.splitlines()
    machine = dict(line.removeprefix("# ").split(": ", 1) for line in lines if line.startswith("#"))
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    costs = [
        Cost(
            study=row["study"],
            engine=row["engine"],
            cylinders=int(row["cylinders"]),
            cell_mm=float(row["cell_mm"]),
            cells=int(row["cells"]),
            points=int(row["points"]),
            threads=int(row["threads"]),
            processor_s=float(row["processor_s"]),
            clock_s=float(row["clock_s"]),
        )
        for row in rows
    ]
    return costs, machine


def exponent(x: Sequence[float], y: Sequence[float]) -> float:
    """Power of x that y grows with: the slope of a straight line through the logarithms, by least squares."""
    return float(np.polyfit(np.log(x), np.log(y), 1)[0])


def cells_of(costs: list[Cost], engine: str) -> list[Cost]:
    """Study of the cells of one engine, from the largest cells to the smallest."""
    return sorted((one for one in costs if one.study == "cells" and one.engine == engine), key=lambda one: -one.cell_mm)


def cylinders_of(costs: list[Cost], cell_mm: float) -> list[Cost]:
    """Study of the cells at one size, from few cylinders to many."""
    return sorted((one for one in costs if one.study == "cells" and one.cell_mm == cell_mm), key=lambda o: o.cylinders)


def points_of(costs: list[Cost]) -> list[Cost]:
    """Study of the speeds, from few to many."""
    return sorted((one for one in costs if one.study == "points"), key=lambda one: one.points)


def growth(costs: list[Cost], low: float, high: float) -> float:
    """Power of the cells in a length that time grows with, between two lengths of a cell: one for all engines. [1]."""
    x: list[float] = []
    y: list[float] = []
    for engine in ENGINES:
        part = [one for one in cells_of(costs, engine) if low <= one.cell_mm <= high]
        times = np.log([one.processor_s for one in part])
        lengths = np.log([one.cell_mm for one in part])
        # Each engine about its own mean, so that only the slopes count.
        x += np.exp(lengths.mean() - lengths).tolist()
        y += np.exp(times - times.mean()).tolist()
    return exponent(x, y)


def words(costs: list[Cost], machine: dict[str, str]) -> str:
    """The section of the documentation, without its heading."""
    usual = {engine: next(one for one in cells_of(costs, engine) if one.cell_mm == 20.0) for engine in ENGINES}
    each = ", ".join(f"{1e3 * usual[engine].processor_s:.0f} ms ({name})" for engine, name in ENGINES.items())
    head = (
        f"Time of the processor, the least of several runs, on one core ({machine['processor']}; Python "
        f"{machine['python']}). A point of {CYCLES} cycles at 4000 rpm with cells of 20 mm takes {each}."
    )
    tail = (
        "The numbers are in [engine-cost.csv](engine-cost.csv). `.venv/bin/python benchmarks/engine_cost.py --write` "
        "measures them anew, and rewrites that table and this text."
    )
    items = (
        _of_cells(costs),
        _of_cylinders(costs),
        _of_speeds(costs),
        _of_threads(costs, machine),
        _of_estimate(costs),
    )
    points = [textwrap.fill(item, 126, initial_indent="- ", subsequent_indent="  ") for item in items]
    return "\n\n".join((textwrap.fill(head, 126), "\n".join(points), textwrap.fill(tail, 126))) + "\n"


def _of_cells(costs: list[Cost]) -> str:
    coarse, fine = growth(costs, 20.0, 40.0), growth(costs, 5.0, 10.0)
    return (
        f"**Cells.** From 40 to 20 mm the time grows with the power {coarse:.1f} of the cells in a given length, "
        f"from 10 to 5 mm with the power {fine:.1f}. It tends to the power 2: twice as many cells, and twice as "
        "many steps, since a wave may not pass more than one cell in a step. With long cells the valves, joins and "
        "open ends are much of the work, and their number stays the same."
    )


def _of_cylinders(costs: list[Cost]) -> str:
    rows = cylinders_of(costs, 20.0)
    power = exponent([one.cylinders for one in rows], [one.processor_s for one in rows])
    cells = f"{', '.join(str(one.cells) for one in rows[:-1])} and {rows[-1].cells}"
    return (
        f"**Cylinders.** With the power {power:.1f}, at 20 mm. What counts is all the pipe there is: the engines have "
        f"{cells} cells."
    )


def _of_speeds(costs: list[Cost]) -> str:
    rows = points_of(costs)
    counts, times = [one.points for one in rows], [one.processor_s for one in rows]
    # A straight line by relative errors, so that the short curves count as much as the long ones.
    each, once = 1e3 * np.polyfit(counts, times, 1, w=1.0 / np.array(times))
    return (
        f"**Speeds.** Along a straight line: {max(once, 0.0):.0f} ms once, to lay out the pipes and cams, and "
        f"{each:.0f} ms for each speed of the four ({CYCLES} cycles, cells of {rows[-1].cell_mm:.0f} mm). As a "
        f"power from {counts[0]} to {counts[-1]} speeds that is {exponent(counts, times):.2f}. Every speed starts "
        "from gas at rest, so that its result does not depend on what else is asked for."
    )


def _of_threads(costs: list[Cost], machine: dict[str, str]) -> str:
    rows = sorted((one for one in costs if one.study == "threads"), key=lambda one: one.threads)
    one, many = rows[0], rows[-1]
    told = "**Threads.** Speeds are shared out among the processors; results do not depend on how many there are."
    if many is one:
        return f"{told} This machine has one."
    told += (
        f" {many.threads} threads finish {one.points} speeds {one.clock_s / many.clock_s:.2f} times as fast by the "
        f"clock as one does, and take {many.processor_s / one.processor_s:.2f} times the time of the processor."
    )
    if float(machine["load"]) > _QUIET:
        told += " The machine was busy with other work, which the clock shows more than the processor's time."
    return told


def _of_estimate(costs: list[Cost]) -> str:
    share = [
        100.0 * at[30.0] / at[20.0]
        for at in ({one.cell_mm: one.processor_s for one in cells_of(costs, engine)} for engine in ENGINES)
    ]
    return (
        "**The estimate of the grid's error** is a second run with cells of 1.5 times the length: "
        f"{min(share):.0f} to {max(share):.0f} % more. `--no-grid-error` leaves it out."
    )
