"""Torque that the virtual engine computed, beside what was measured, as one chart."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.publish.axes import RPM_TITLE, value_axis
from pullbook.publish.chart import Axis, Band, Chart, Line, Marker, Panel, Rule
from pullbook.publish.figures import separated
from pullbook.publish.speeds import rpm
from pullbook.publish.ticks import nice_ticks
from pullbook.quantities.arrays import frozen_floats
from pullbook.quantities.rounding import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.publish.figures import Measure
    from pullbook.publish.palette import Ink, Style
    from pullbook.quantities.arrays import FloatArray

__all__ = ["EngineRun", "Trace", "computed_gain", "engine_chart"]

_DIFFERENCE_WEIGHT: Final = 0.42
_OF: Final = "computed"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """A curve of torque with its band.

    Attributes
    ----------
    speed_rpm : (n,) array of float
        Engine speeds, ascending. [rpm]
    torque, low, high : (n,) array of float
        The curve and the ends of its band; NaN where nothing is known. [N m]
    """

    speed_rpm: FloatArray
    torque: FloatArray
    low: FloatArray
    high: FloatArray

    def __post_init__(self) -> None:
        for name in ("speed_rpm", "torque", "low", "high"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))

    def at(self, speed_rpm: FloatArray) -> FloatArray:
        """Torque at other speeds, linear between the points; NaN outside of them.

        Parameters
        ----------
        speed_rpm : (m,) array of float
            Engine speeds. [rpm]

        Returns
        -------
        (m,) array of float
            Torque. [N m]
        """
        return np.interp(speed_rpm, self.speed_rpm, self.torque, left=np.nan, right=np.nan)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EngineRun:
    """An engine file that was run, and the build that it is about.

    Attributes
    ----------
    name : str
        Build, or the engine file where it is about none.
    label : str
        Words for it.
    style : Style
        How the build is drawn everywhere else.
    computed : Trace
        What the virtual engine gave; its band is what the size of the cells adds, by estimate, to either side.
    measured : Trace or None
        Mean curve of the build with its band; None where there is none.
    gain : Trace or None
        Measured gain of the build on the first one of the chart; None where there is none.
    """

    name: str
    label: str
    style: Style
    computed: Trace
    measured: Trace | None = None
    gain: Trace | None = None


def computed_gain(run: EngineRun, first: EngineRun) -> Trace | None:
    """Computed torque of one engine less that of another, at the speeds that both have; None where they have none.

    Parameters
    ----------
    run, first : EngineRun
        The engines.

    Returns
    -------
    Trace or None
        The difference; the error from the cells is that of the difference, because both have the same cells.
    """
    both, here, there = np.intersect1d(run.computed.speed_rpm, first.computed.speed_rpm, return_indices=True)
    if not both.size:
        return None
    own, other = run.computed, first.computed
    gain = own.torque[here] - other.torque[there]
    error = np.abs((own.high - own.torque)[here] - (other.high - other.torque)[there])
    return Trace(speed_rpm=both, torque=gain, low=gain - error, high=gain + error)


def engine_chart(runs: Sequence[EngineRun], measure: Measure) -> Chart:
    """Computed torque with a ring at each computed speed, measured torque with its band, and the differences.

    Parameters
    ----------
    runs : sequence of EngineRun
        At least one; the others are compared with the first.
    measure : Measure
        Unit of torque of the reader.

    Returns
    -------
    Chart
        Panels "torque", then one for each engine after the first, as in "B-A".
    """
    speeds = [trace.speed_rpm for run in runs for trace in (run.computed, run.measured) if trace is not None]
    axis = _speed_axis(min(float(one.min()) for one in speeds), max(float(one.max()) for one in speeds))
    panels = [_curves(runs, measure, axis)]
    panels += [panel for run in runs[1:] if (panel := _gains(run, runs[0], measure, axis)) is not None]
    return Chart(
        key="engine", title="Torque of the virtual engine: computed, not measured", says=_described(runs, measure),
        panels=tuple(panels),
    )  # fmt: skip


def _speed_axis(low: float, high: float) -> Axis:
    if high <= low:
        low, high = low - 250.0, high + 250.0
    ticks = nice_ticks(low, high)
    return Axis(title=RPM_TITLE, low=low, high=high, ticks=ticks, labels=tuple(separated(f"{t:.0f}") for t in ticks))


def _curves(runs: Sequence[EngineRun], measure: Measure, axis: Axis) -> Panel:
    lines: list[Line] = []
    bands: list[Band] = []
    rings: list[Marker] = []
    for run in runs:
        for trace, word in ((run.measured, "measured"), (run.computed, _OF)):
            if trace is None:
                continue
            key = f"{run.name} {word}"
            lines.append(_line(trace, measure, run.style, (key, key, _short(run.name, word))))
            bands += _bands(key, trace, measure, run.style.ink)
        rings += _rings(f"{run.name} {_OF}", run.computed, measure, run.style.ink)
    title = f"torque, {measure.symbol}"
    held = [*(line.y for line in lines), *(end for band in bands for end in (band.low, band.high))]
    return Panel(key="torque", title=title, x=axis, y=value_axis(title, held), lines=tuple(lines), bands=tuple(bands),
                 markers=tuple(rings))  # fmt: skip


def _gains(run: EngineRun, first: EngineRun, measure: Measure, axis: Axis) -> Panel | None:
    computed = computed_gain(run, first)
    if computed is None:
        return None
    told = [(computed, _OF)] if run.gain is None else [(run.gain, "measured"), (computed, _OF)]
    lines: list[Line] = []
    bands: list[Band] = []
    for trace, word in told:
        key = f"{run.name}-{first.name} {word}"
        short = f"{run.name}\u2212{first.name}"
        lines.append(_line(trace, measure, run.style, (key, f"{short} {word}", _short(short, word))))
        bands += _bands(key, trace, measure, run.style.ink)
    held = [*(line.y for line in lines), *(end for band in bands for end in (band.low, band.high))]
    return Panel(
        key=f"{run.name}-{first.name}", title=f"{run.name} minus {first.name}, {measure.symbol}", x=axis,
        y=value_axis(measure.symbol, held, signed=True, most=5), lines=tuple(lines), bands=tuple(bands),
        markers=tuple(_rings(lines[-1].key, computed, measure, run.style.ink)), rules=(Rule(at=0.0),),
        weight=_DIFFERENCE_WEIGHT,
    )  # fmt: skip


def _short(name: str, word: str) -> str:
    """What stands at a curve where there is little room: a computed one has its ring."""
    return f"{name} \u25cb" if word == _OF else name


def _line(trace: Trace, measure: Measure, style: Style, names: tuple[str, str, str]) -> Line:
    key, label, short = names
    return Line(key=key, label=label, short=short, x=trace.speed_rpm, y=measure.shown(trace.torque), ink=style.ink,
                dash=style.dash)  # fmt: skip


def _bands(key: str, trace: Trace, measure: Measure, ink: Ink) -> Iterator[Band]:
    known = np.isfinite(trace.low) & np.isfinite(trace.high)
    edges = [0, *(np.flatnonzero(np.diff(known.astype(int))) + 1).tolist(), known.size]
    for start, end in pairwise(edges):
        if end - start > 1 and known[start]:
            part = slice(start, end)
            yield Band(key=key, x=trace.speed_rpm[part], low=measure.shown(trace.low[part]),
                       high=measure.shown(trace.high[part]), ink=ink)  # fmt: skip


def _rings(key: str, trace: Trace, measure: Measure, ink: Ink) -> Iterator[Marker]:
    for speed, torque in zip(trace.speed_rpm.tolist(), measure.shown(trace.torque).tolist(), strict=True):
        yield Marker(key=key, x=speed, y=torque, low=float("nan"), high=float("nan"), ink=ink, hollow=True)


def _described(runs: Sequence[EngineRun], measure: Measure) -> str:
    """What somebody who cannot see the chart has to know."""
    told = []
    for run in runs:
        told.append(f"{run.name}: the computed torque is at most {_top(run.computed, measure)}")
        if run.measured is not None:
            told[-1] += f", the measured mean at most {_top(run.measured, measure)}"
    rings = "Curves with rings were computed at the ringed speeds; curves without are measured means with their bands."
    return f"{rings} {'; '.join(told)}. The numbers are in the table below."


def _top(trace: Trace, measure: Measure) -> str:
    if not np.isfinite(trace.torque).any():
        return "not known"
    top = int(np.nanargmax(trace.torque))
    value = digits(float(measure.shown(trace.torque)[top]), 0)
    return f"{value} {measure.symbol} at {rpm(float(trace.speed_rpm[top]))}"
