"""Chart of what the virtual engine costs, from the table that `benchmarks/engine_cost.py` writes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from engine_cost_page import CYCLES, ENGINES, cells_of, cylinders_of, points_of

from pullbook.publish.chart import Arrangement, Axis, Chart, Line, Panel
from pullbook.publish.palette import Dash, Ink
from pullbook.publish.ticks import nice_ticks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine_cost_page import Cost

__all__ = ["cost_chart"]

_STYLES: Final = ((Ink.BUILD_1, Dash.SOLID), (Ink.BUILD_2, Dash.DASHED), (Ink.BUILD_3, Dash.DASH_DOT))
_SHOWN_CELLS: Final = (5.0, 10.0, 20.0)  # mm, for the growth with cylinders


def cost_chart(costs: list[Cost]) -> Chart:
    """Growth with cells, with cylinders and with speeds; the first two on logarithmic scales."""
    return Chart(
        key="engine-cost",
        title="What the virtual engine costs",
        says="Processor time rises with smaller cells, ever more steeply towards the second power; about in proportion "
        "to the cylinders; and in proportion to the number of speeds.",
        panels=(_cells(costs), _cylinders(costs), _speeds(costs)),
        arrangement=Arrangement.ROWS,
    )


def _cells(costs: list[Cost]) -> Panel:
    sizes = [one.cell_mm for one in cells_of(costs, next(iter(ENGINES)))]
    return Panel(
        key="cells",
        title=f"One speed, {CYCLES} cycles: processor time over the length of the cells",
        x=_axis("length of the cells, mm", [1.0 / one for one in sizes], [f"{one:g}" for one in sizes]),
        y=_seconds([one for one in costs if one.study == "cells"]),
        lines=tuple(
            _line(name, style, [1.0 / one.cell_mm for one in cells_of(costs, engine)], cells_of(costs, engine))
            for (engine, name), style in zip(ENGINES.items(), _STYLES, strict=True)
        ),
    )


def _cylinders(costs: list[Cost]) -> Panel:
    counts = [one.cylinders for one in cylinders_of(costs, _SHOWN_CELLS[0])]
    return Panel(
        key="cylinders",
        title="The same over the number of cylinders, for three lengths of the cells",
        x=_axis("cylinders", counts, [str(one) for one in counts]),
        y=_seconds([one for one in costs if one.study == "cells" and one.cell_mm in _SHOWN_CELLS]),
        lines=tuple(
            _line(f"{size:g} mm", style, counts, cylinders_of(costs, size))
            for size, style in zip(_SHOWN_CELLS, _STYLES, strict=True)
        ),
    )


def _speeds(costs: list[Cost]) -> Panel:
    curve = points_of(costs)
    most = max(one.processor_s for one in curve)
    across, up = nice_ticks(0.0, curve[-1].points), nice_ticks(0.0, 1.15 * most)
    ink, dash = _STYLES[1]
    return Panel(
        key="speeds",
        title=f"A curve of the four, cells of {curve[-1].cell_mm:.0f} mm: seconds over its number of speeds",
        x=Axis(title="speeds", low=0.0, high=1.04 * curve[-1].points, ticks=across, labels=_plain(across)),
        y=Axis(title="s", low=0.0, high=1.15 * most, ticks=up, labels=_plain(up)),
        lines=(
            Line(
                key="four",
                label="four",
                short="four",
                x=np.array([float(one.points) for one in curve]),
                y=np.array([one.processor_s for one in curve]),
                ink=ink,
                dash=dash,
            ),
        ),
    )


def _plain(ticks: Sequence[float]) -> tuple[str, ...]:
    return tuple(f"{one:g}" for one in ticks)


def _line(name: str, style: tuple[Ink, Dash], x: Sequence[float], costs: list[Cost]) -> Line:
    y = np.log10([one.processor_s for one in costs])
    return Line(key=name, label=name, short=name, x=np.log10(x), y=y, ink=style[0], dash=style[1])


def _axis(title: str, values: Sequence[float], labels: Sequence[str]) -> Axis:
    """Logarithmic scale with ticks at the values themselves."""
    places = tuple(float(np.log10(one)) for one in values)
    margin = 0.03 * (places[-1] - places[0])
    return Axis(title=title, low=places[0] - margin, high=places[-1] + margin, ticks=places, labels=tuple(labels))


def _seconds(costs: list[Cost]) -> Axis:
    """Logarithmic scale that holds the times, with ticks at 1, 2 and 5 times powers of ten."""
    times = [one.processor_s for one in costs]
    steps = [factor * 10.0**power for power in range(-4, 3) for factor in (1, 2, 5)]
    low = max(one for one in steps if one <= min(times))
    high = min(one for one in steps if one >= max(times))
    ticks = [one for one in steps if low <= one <= high]
    return _axis("s", ticks, _plain(ticks))
