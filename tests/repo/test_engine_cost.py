"""What the virtual engine costs: words and chart of the documentation follow from the measured table."""

from __future__ import annotations

import importlib
import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from repo.tree import ROOT

if TYPE_CHECKING:
    from collections.abc import Iterator

TABLE: Final = ROOT / "docs" / "methods" / "engine-cost.csv"


@pytest.fixture(name="page")
def _page(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    monkeypatch.syspath_prepend(str(ROOT / "docs"))
    yield importlib.import_module("engine_cost_page")
    for name in ("engine_cost_page", "engine_cost_chart"):
        sys.modules.pop(name, None)


def law(page: Any, cells: float, cylinders: float, points: float) -> list[Any]:
    """Costs that follow given powers."""

    def cost(study: str, engine: str, number: int, cell: float, **changes: int) -> Any:
        values = {"points": 1, "threads": 1, **changes}
        time = 0.01 * (40.0 / cell) ** cells * number**cylinders * values["points"] ** points / values["threads"]
        return page.Cost(study=study, engine=engine, cylinders=number, cell_mm=cell, cells=100 * number,
                         processor_s=time, clock_s=time, **values)  # fmt: skip

    sizes = (40.0, 30.0, 20.0, 15.0, 10.0, 7.5, 5.0)
    found = [
        cost("cells", engine, n, size) for engine, n in zip(page.ENGINES, (1, 4, 8), strict=True) for size in sizes
    ]
    found += [cost("points", "inline-four", 4, 30.0, points=count) for count in (1, 2, 4, 8, 16, 24)]
    return found + [cost("threads", "inline-four", 4, 30.0, points=12, threads=count) for count in (1, 2)]


def test_the_words_of_the_page_are_those_of_the_table(page: Any) -> None:
    words = page.words(*page.read_table(TABLE.read_text(encoding="utf-8")))
    assert TABLE.with_suffix(".md").read_text(encoding="utf-8") == words


def test_powers_that_are_known_are_told(page: Any) -> None:
    machine = {"processor": "a processor", "cores": "2", "python": "3.11", "load": "0.1"}
    words = " ".join(page.words(law(page, cells=1.7, cylinders=0.9, points=1.0), machine).split())
    assert "From 40 to 20 mm the time grows with the power 1.7" in words
    assert "from 10 to 5 mm with the power 1.7" in words
    assert "**Cylinders.** With the power 0.9" in words
    assert "Along a straight line: 0 ms once" in words
    assert "As a power from 1 to 24 speeds that is 1.00" in words
    assert "2 threads finish 12 speeds 2.00 times as fast" in words
    assert f"{100 / 1.5**1.7:.0f} to {100 / 1.5**1.7:.0f} % more" in words
    assert "busy" not in words
    assert "busy" in page.words(law(page, cells=1.0, cylinders=1.0, points=1.0), {**machine, "load": "3.0"})


def test_what_is_done_once_is_told_apart_from_what_each_speed_takes(page: Any) -> None:
    machine = {"processor": "a processor", "cores": "2", "python": "3.11", "load": "0.1"}
    costs = law(page, cells=1.0, cylinders=1.0, points=1.0)
    each = next(one.processor_s for one in costs if one.study == "points")
    slower = [replace(one, processor_s=one.processor_s + 0.1) if one.study == "points" else one for one in costs]
    words = " ".join(page.words(slower, machine).split())
    assert f"100 ms once, to lay out the pipes and cams, and {1e3 * each:.0f} ms for each speed" in words


def test_a_table_is_read_as_it_was_written(page: Any) -> None:
    costs, machine = page.read_table(TABLE.read_text(encoding="utf-8"))
    assert page.read_table(page.write_table(costs, machine)) == (costs, machine)
    assert {"processor", "cores", "python", "load"} == set(machine)
    assert {(one.study, one.threads) for one in costs} >= {("cells", 1), ("points", 1), ("threads", 1)}


def test_the_chart_shows_every_row_of_cells_and_speeds(page: Any) -> None:
    chart = importlib.import_module("engine_cost_chart").cost_chart(law(page, cells=2.0, cylinders=1.0, points=1.0))
    cells, cylinders, speeds = chart.panels
    assert [line.label for line in cells.lines] == ["single", "four", "V8"]
    assert [line.label for line in cylinders.lines] == ["5 mm", "10 mm", "20 mm"]
    # On logarithmic scales a power is the slope of a straight line.
    assert np.diff(cells.lines[0].y) / np.diff(cells.lines[0].x) == pytest.approx(2.0)
    assert np.diff(cylinders.lines[0].y) / np.diff(cylinders.lines[0].x) == pytest.approx(1.0)
    assert speeds.lines[0].y[-1] / speeds.lines[0].y[0] == pytest.approx(24.0)
    for panel in chart.panels:
        for line in panel.lines:
            assert panel.x.low <= line.x.min() <= line.x.max() <= panel.x.high
            assert panel.y.low <= line.y.min() <= line.y.max() <= panel.y.high
