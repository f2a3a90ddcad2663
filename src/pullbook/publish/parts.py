"""Parts of the page: everything twice, in metric and in US units, and pictures in every size."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

from pullbook.publish.charts import effects_chart, power_chart, torque_chart
from pullbook.publish.interactive import INTERACTIVE
from pullbook.publish.rows import claim_chart, pulls_chart, scatter_chart, windows_chart
from pullbook.publish.sheets import SHEETS
from pullbook.publish.svg import picture
from pullbook.publish.svg_shapes import shapes
from pullbook.publish.tables import Table, chart_table
from pullbook.publish.telling import Telling
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.publish.chart import Chart
    from pullbook.records.result import SessionResult

__all__ = ["CHARTS", "Both", "Figure", "both", "charts_of", "drawn_in_sizes", "figure_of", "tellings"]

CHARTS: dict[str, Callable[[Telling], Chart | None]] = {
    "pulls": pulls_chart,
    "torque": torque_chart,
    "power": power_chart,
    "windows": windows_chart,
    "effects": effects_chart,
    "scatter": scatter_chart,
}
_S = TypeVar("_S")
_T = TypeVar("_T")
_WITH_NUMBERS = {"torque", "power", "effects", "scatter"}


class Both(NamedTuple, Generic[_T]):
    """Something in metric and in US units.

    Attributes
    ----------
    metric, us : object
        The two; equal where no unit stands in it.
    """

    metric: _T
    us: _T

    @property
    def same(self) -> bool:
        """Nothing differs."""
        return self.metric == self.us


class Figure(NamedTuple):
    """A chart as the page shows it.

    Attributes
    ----------
    key, title : str
        Name and caption.
    pictures : tuple of (str, str)
        Unit system (empty for both) and SVG elements, one for each size.
    numbers : Both or None
        Table of the numbers.
    interactive : bool
        There is a figure to hover over.
    """

    key: str
    title: str
    pictures: tuple[tuple[str, str], ...]
    numbers: Both[Table] | None
    interactive: bool


def tellings(result: SessionResult) -> Both[Telling]:
    """The result for both kinds of reader."""
    return Both(
        metric=Telling(result=result, system=UnitSystem.METRIC), us=Telling(result=result, system=UnitSystem.US)
    )


def both(pair: Both[_S], make: Callable[[_S], _T]) -> Both[_T]:
    """Result of a function for both kinds of reader; made once where they are the same."""
    if pair.metric is pair.us:
        made = make(pair.metric)
        return Both(metric=made, us=made)
    return Both(metric=make(pair.metric), us=make(pair.us))


def charts_of(telling: Telling) -> dict[str, Chart]:
    """All charts of the page that this session has, by key."""
    made = {key: make(telling) for key, make in CHARTS.items()}
    claims = [claim_chart(telling, number) for number in range(len(telling.findings.claims))]
    return {chart.key: chart for chart in (*made.values(), *claims) if chart is not None}


def figure_of(key: str, metric: Chart, us: Chart) -> Figure:
    """Pictures in every size and both unit systems, and the table of numbers.

    The pictures of a chart without units are made once.
    """
    systems = {"metric": metric} if metric is us else {"metric": metric, "us": us}
    drawn = {system: drawn_in_sizes(f"{key}-{system}", chart) for system, chart in systems.items()}
    if metric is us or drawn["metric"].replace("-metric", "") == drawn["us"].replace("-us", ""):
        drawn = {"": drawn["metric"]}
    numbers: Both[Table] | None = None
    if key in _WITH_NUMBERS:
        numbers = both(Both(metric=metric, us=us), chart_table)
    return Figure(
        key=key, title=metric.title, pictures=tuple(drawn.items()), numbers=numbers, interactive=key in INTERACTIVE
    )


def drawn_in_sizes(names: str, chart: Chart) -> str:
    """Pictures of a chart in every size, and before them the shapes that they share.

    Parameters
    ----------
    names : str
        Unique within the page; ids inside the pictures begin with it.
    chart : Chart
        What is drawn.

    Returns
    -------
    str
        One SVG element for each size, of which the style sheet shows the one that fits.
    """
    told = shapes(chart, names)
    first = f'<svg class="shapes" aria-hidden="true" focusable="false"><defs>{told}</defs></svg>' if told else ""
    return first + "".join(picture(chart, sheet, f"{names}-{sheet.name}", names) for sheet in SHEETS)
