"""`render_pool`: the evidence for a change as one page that works without a network."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

import pullbook
from pullbook.publish.parts import drawn_in_sizes
from pullbook.publish.pool_charts import forest_chart, pool_curve_chart
from pullbook.publish.pool_words import curve_sentences, own_interval, pool_sentences, stated, window_sentence
from pullbook.publish.scripts import resource
from pullbook.publish.sections import environment
from pullbook.publish.styles import theme_rules

if TYPE_CHECKING:
    from pullbook.publish.chart import Chart
    from pullbook.records.pool import Pool, PoolCurve, PoolRow, PoolWindow

__all__ = ["render_pool"]

_STYLES = ("tokens.css", "charts.css", "picture.css", "tables.css", "evidence.css")


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
    figures = [_figure(forest_chart(pool, whole), _forest_note(whole))]
    figures += [_figure(pool_curve_chart(curve), _curve_note(curve)) for curve in pool.curves]
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
            figures=figures,
            rows=[_row(row, effects.get(n), weights.get(n)) for n, row in enumerate(pool.rows)],
            version=pullbook.__version__,
            style=theme_rules() + "".join(resource("static", name) for name in _STYLES),
        )
    )


def _figure(chart: Chart, note: str) -> dict[str, str]:
    drawn = drawn_in_sizes(f"evidence-{chart.key}", chart)
    return {"key": chart.key, "title": chart.title, "picture": drawn, "note": note}


def _forest_note(window: PoolWindow) -> str:
    note = "Intervals of single sessions are their own doubt, 95 %. A ring is not decided."
    if len(window.rows) == 1:
        return note
    held = "interval holds" if window.next_engine is None else "interval and the range for the next engine hold"
    return f"{note} The mean's {held} in 95 of 100 such pools."


def _curve_note(curve: PoolCurve) -> str:
    onward = "Outlined: the next engine. " if np.isfinite(curve.next_low).any() else ""
    return f"Shaded: band of the mean over the whole curve at once. {onward}Dotted: single sessions, twelve at most."


def _row(row: PoolRow, effect: tuple[float, float] | None, weight: float | None) -> dict[str, Any]:
    shown = "not measured throughout" if effect is None else stated(own_interval(*effect), "%")
    return {
        "row": row, "effect": shown,
        "weight": "" if weight is None else f"{100.0 * weight:.0f} %",
        "report": f"{row.folder.rstrip('/')}/report/report.html",
    }  # fmt: skip
