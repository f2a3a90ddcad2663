"""Pictures of a pool: the forest of its sessions, and the pooled curves."""

from __future__ import annotations

from math import isfinite, nan
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.publish.axes import RPM_TITLE, tick_labels, value_axis
from pullbook.publish.chart import Axis, Band, Chart, Line, Marker, Panel, Rule
from pullbook.publish.figures import separated
from pullbook.publish.palette import Dash, Fill, Ink
from pullbook.publish.pool_words import own_interval, stated
from pullbook.publish.speeds import rpm_range
from pullbook.publish.ticks import nice_ticks
from pullbook.records.curve import Interval

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pool import Pool, PoolCurve, PoolWindow

__all__ = ["forest_chart", "pool_curve_chart"]

_ROW: Final = 0.085
_MOST: Final = 60  # rows in one picture; the table beside it has them all


def _marker(key: str, interval: Interval, y: float, label: str) -> Marker:
    clear = int(interval.low > 0.0) - int(interval.high < 0.0)
    ink = {1: Ink.GAIN, -1: Ink.LOSS, 0: Ink.OPEN}[clear]
    return Marker(key=key, x=interval.value, y=y, low=interval.low, high=interval.high, ink=ink, bar=True,
                  hollow=clear == 0, label=label)  # fmt: skip


def forest_chart(pool: Pool, window: PoolWindow) -> Chart:
    """One row a session with its own interval, then the mean, then the next engine.

    Parameters
    ----------
    pool : Pool
        The sessions.
    window : PoolWindow
        Their effects and what they say together. [%]

    Returns
    -------
    Chart
        The latest sixty sessions where there are more.
    """
    told = list(zip(window.rows, window.effect, window.sd, strict=True))[-_MOST:]
    rows: list[tuple[str, str, Interval]] = []
    for row, effect, sd in told:
        rows.append((pool.rows[row].session, pool.rows[row].session, own_interval(effect, sd)))
    if len(window.rows) > 1:
        rows.append((f"mean of {len(window.rows)}", "mean", window.mean))
    if window.next_engine is not None:
        low, high = window.next_engine
        rows.append(("the next engine", "next", Interval(value=window.mean.value, low=low, high=high)))
    count = len(rows)
    values = np.array([[one.value, one.low, one.high] for _, _, one in rows])
    markers = tuple(
        _marker(key, one, float(count - 1 - place), stated(one, "%")) for place, (_, key, one) in enumerate(rows)
    )
    where = rpm_range(window.from_rpm, window.to_rpm)
    panel = Panel(
        key="forest",
        title=f"Mean gain from {where}",
        x=value_axis("gain, % of torque", [values[np.isfinite(values)], np.zeros(1)], signed=True),
        y=Axis(title="", low=-0.6, high=count - 0.4, ticks=tuple(map(float, range(count))),
               labels=tuple(name for name, _, _ in reversed(rows))),
        markers=markers,
        rules=(Rule(at=0.0, upright=True),),
        weight=_ROW * (count + 0.2),
    )  # fmt: skip
    says = "; ".join(f"{name}: {stated(one, '%')}" for name, _, one in rows)
    several = "Sessions and their mean" if window.next_engine is None else "Sessions, their mean and the next engine"
    shown = several if len(window.rows) > 1 else "One session"
    return Chart(key="forest", title=f"{shown}, {where}", says=f"{says}.", panels=(panel,))


def pool_curve_chart(curve: PoolCurve) -> Chart:
    """Pooled curve with its band and that of the next engine; sessions as thin dotted lines.

    Parameters
    ----------
    curve : PoolCurve
        The curve. [%]
    """
    # At the ends of a pool few sessions are left, and their band would set the scale.
    known = np.isfinite(curve.mean) & (curve.sessions > 0.5 * curve.sessions.max())
    first, last = float(curve.x[known][0]), float(curve.x[known][-1])
    ticks = nice_ticks(first, last)
    labels = tuple(separated(f"{tick:.0f}") for tick in ticks) if curve.axis == "rpm" else tuple(
        tick_labels(ticks, signed=False)
    )  # fmt: skip
    title = RPM_TITLE if curve.axis == "rpm" else "speed as a share of that of the torque peak"
    mean, low, high, next_low, next_high = (
        np.where(known, one, nan) for one in (curve.mean, curve.low, curve.high, curve.next_low, curve.next_high)
    )
    shown = [mean, low, high, next_low, next_high]
    bands = [*_bands(curve.x, next_low, next_high, Fill.HOLLOW), *_bands(curve.x, low, high, Fill.TINT)]
    singles = [Line(key=f"own-{number}", x=curve.x, y=np.where(known, own, nan), ink=Ink.SOFT, dash=Dash.DOTTED)
               for number, own in enumerate(curve.own[:12])]  # fmt: skip
    line = Line(key="mean", label="mean", short="mean", x=curve.x, y=mean, ink=Ink.BUILD_1)
    panel = Panel(
        key=f"pooled-{curve.axis}",
        x=Axis(title=title, low=first, high=last, ticks=ticks, labels=labels),
        y=value_axis("gain, % of torque", shown, signed=True),
        lines=(*singles, line),
        bands=tuple(bands),
        rules=(Rule(at=0.0),),
    )
    most = int(np.nanargmax(np.abs(mean)))
    at = f"{curve.x[most]:,.0f} rpm" if curve.axis == "rpm" else f"{curve.x[most]:.2f} of the torque peak"
    largest = Interval(value=float(curve.mean[most]), low=float(curve.low[most]), high=float(curve.high[most]))
    says = f"Pooled gain over {title}, largest {stated(largest, '%')} at {at}."
    return Chart(key=f"pooled-{curve.axis}", title=f"Pooled gain over {title}", says=says, panels=(panel,))


def _bands(x: FloatArray, low: FloatArray, high: FloatArray, fill: Fill) -> list[Band]:
    """Band without its gaps."""
    known = np.flatnonzero(np.isfinite(low) & np.isfinite(high))
    parts = np.split(known, np.flatnonzero(np.diff(known) > 1) + 1)
    return [
        Band(key=f"{fill}-{number}", x=x[part], low=low[part], high=high[part], ink=Ink.BUILD_1, fill=fill)
        for number, part in enumerate(parts) if part.size > 1 and isfinite(float(low[part[0]]))
    ]  # fmt: skip
