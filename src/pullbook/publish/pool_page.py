"""`render_pool`: the evidence for a change as one page that works without a network."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pullbook
from pullbook.publish.pool_charts import forest_chart, pool_curve_chart
from pullbook.publish.pool_words import curve_sentences, pool_sentences, stated, window_sentence
from pullbook.publish.scripts import resource
from pullbook.publish.sections import environment
from pullbook.publish.sheets import SHEETS
from pullbook.publish.styles import theme_rules
from pullbook.publish.svg import picture
from pullbook.records.curve import Interval

if TYPE_CHECKING:
    from pullbook.publish.chart import Chart
    from pullbook.records.pool import Pool, PoolRow

__all__ = ["render_pool"]

_NORMAL = 1.959963984540054


def render_pool(pool: Pool) -> str:
    """Evidence page of a pool.

    Parameters
    ----------
    pool : Pool
        What the sessions say together. [%, N m]

    Returns
    -------
    str
        The page, with forest plot, pooled curves and a table of the sessions. All text of the user is escaped, and a
        content security policy forbids every request and every script.
    """
    whole = pool.windows[0]
    said = pool_sentences(pool)
    charts = [forest_chart(pool, whole), *(pool_curve_chart(curve) for curve in pool.curves)]
    effects = {row: (effect, sd) for row, effect, sd in zip(whole.rows, whole.effect, whole.sd, strict=True)}
    weights = dict(zip(whole.rows, whole.weight, strict=True))
    return (
        environment()
        .get_template("evidence.html.j2")
        .render(
            pool=pool,
            headline=said[0],
            sentences=said[1:],
            curve_sentences=curve_sentences(pool),
            torque=[window_sentence(window) for window in pool.windows if window.unit != "%"],
            figures=[_figure(chart) for chart in charts],
            rows=[_row(row, effects.get(n), weights.get(n)) for n, row in enumerate(pool.rows)],
            version=pullbook.__version__,
            style=theme_rules() + "".join(resource("static", name) for name in ("tokens.css",
                                                                                "picture.css", "evidence.css")),
        )
    )  # fmt: skip


def _figure(chart: Chart) -> dict[str, str]:
    return {"key": chart.key, "title": chart.title, "picture": picture(chart, SHEETS[0], f"evidence-{chart.key}")}


def _row(row: PoolRow, effect: tuple[float, float] | None, weight: float | None) -> dict[str, Any]:
    shown = ""
    if effect is not None:
        value, doubt = effect[0], _NORMAL * effect[1]
        shown = stated(Interval(value=value, low=value - doubt, high=value + doubt), "%")
    return {
        "row": row, "effect": shown or "not measured throughout",
        "weight": "" if weight is None else f"{100.0 * weight:.0f} %",
        "report": f"{row.folder.rstrip('/')}/report/report.html",
    }  # fmt: skip
