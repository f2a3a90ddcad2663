"""Rows of the tables in the page, in words and digits, for one unit system."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from pullbook.publish.claims import VERDICT_WORDS, claim_limit, claim_place, claim_reason, claim_shown
from pullbook.publish.figures import Measure, places, separated
from pullbook.publish.scatter import both_results
from pullbook.publish.speeds import rpm, rpm_range
from pullbook.quantities.rounding import digits
from pullbook.records.curve import Interval

if TYPE_CHECKING:
    from pullbook.publish.chart import Chart
    from pullbook.publish.telling import Telling
    from pullbook.records.curve import Peak

__all__ = ["Table", "both_table", "chart_table", "claim_rows", "peaks_table", "windows_table"]

_MOST_ROWS = 24


class Table(NamedTuple):
    """A table for the page.

    Attributes
    ----------
    caption : str
        What it shows.
    head : tuple of str
        Column headings; the first column of every row is its heading.
    rows : tuple of tuple of str
        Cells.
    about : tuple of str
        What each row is about, a pair as "B-A" or a build; empty where nobody asks.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    about: tuple[str, ...] = ()


def _verdict(gain: Interval) -> str:
    if gain.low > 0.0:
        return "gains"
    if gain.high < 0.0:
        return "gives up"
    return "not decided"


def windows_table(telling: Telling) -> Table | None:
    """Mean gains over the windows; None where no window was asked for."""
    rows, about = [], []
    for difference in telling.findings.differences:
        about += [telling.pair(difference)] * len(difference.windows)
        pair = f"{difference.of} minus {difference.from_}"
        for window in difference.windows:
            power = telling.power.stated(window.power, signed=True) if window.power else ""
            check = telling.torque.stated(window.classical, signed=True) if window.classical else "not possible"
            rows.append(
                (
                    pair, rpm_range(window.from_rpm, window.to_rpm), telling.torque.stated(window.torque, signed=True),
                    *(() if telling.relative else (Measure.percent().stated(window.percent, signed=True), power)),
                    _verdict(window.torque), check,
                )
            )  # fmt: skip
    if not rows:
        return None
    shares = () if telling.relative else ("in per cent", "mean power gain")
    head = ("comparison", "window", "mean torque gain", *shares, "", "check (t interval)")
    return Table(
        caption=f"Mean gains over the windows, with {100 * telling.findings.confidence:.0f} % intervals",
        head=head,
        rows=tuple(rows),
        about=tuple(about),
    )


def _peak(measure: Measure, peak: Peak | None) -> tuple[str, str]:
    if peak is None:
        return "not known", "not known"
    shown = measure.stated(Interval(value=peak.value, low=peak.low, high=peak.high))
    if not math.isfinite(peak.rpm_low):
        return shown, rpm(peak.rpm)
    return shown, rpm_range(peak.rpm_low, peak.rpm_high)


def peaks_table(telling: Telling) -> Table | None:
    """Peaks of every build; None where no build has one."""
    builds = telling.findings.builds
    if not any(build.peak_torque or build.peak_power for build in builds):
        return None
    rows = tuple(
        (
            telling.named(build.name), *_peak(telling.torque, build.peak_torque),
            *_peak(telling.power, build.peak_power), str(build.pulls), str(build.fittings),
        ) for build in builds
    )  # fmt: skip
    head = ("build", "peak torque", "somewhere in", "peak power", "somewhere in", "pulls", "fittings")
    return Table(
        caption="Peaks, and the range of speed each can lie in",
        head=head,
        rows=rows,
        about=tuple(build.name for build in builds),
    )


def claim_rows(telling: Telling) -> tuple[dict[str, str], ...]:
    """What was said, what the pulls show, the verdict, the reason and what would decide it."""
    claims = {claim.id: claim for claim in telling.session.claims}
    return tuple(
        {
            "id": finding.id,
            "pair": f"{claims[finding.id].of}-{claims[finding.id].from_}",
            "says": claims[finding.id].says,
            "limit": f"{claim_limit(telling, claims[finding.id], finding)[0]} {claim_place(claims[finding.id])}, "
                     f"{claims[finding.id].of} against {claims[finding.id].from_}",
            "shown": claim_shown(telling, finding),
            "verdict": VERDICT_WORDS[finding.verdict],
            "kind": str(finding.verdict),
            "why": claim_reason(finding),
        } for finding in telling.findings.claims
    )  # fmt: skip


def both_table(telling: Telling) -> Table | None:
    """Mean gains without and with the pulls left out; None where there is nothing to compare."""
    about = tuple(telling.pair(difference) for difference, *_ in both_results(telling))
    rows = tuple(
        (
            f"{difference.of} minus {difference.from_}", rpm_range(without.from_rpm, without.to_rpm),
            telling.torque.stated(without.torque, signed=True), telling.torque.stated(with_all.torque, signed=True),
        ) for difference, without, with_all in both_results(telling)
    )  # fmt: skip
    if not rows:
        return None
    head = ("comparison", "window", "as found", "with every pull kept")
    return Table(caption="Mean torque gains, both ways", head=head, rows=rows, about=about)


def chart_table(chart: Chart) -> Table:
    """The numbers of a chart over engine speed, at round speeds, with the digits that the bands allow."""
    speeds = chart.panels[0].lines[0].x
    step = next(step for step in (50.0, 100.0, 125.0, 200.0, 250.0, 500.0, 1000.0, 2000.0, 5000.0)
                if (speeds[-1] - speeds[0]) / step <= _MOST_ROWS)  # fmt: skip
    at = np.arange(math.ceil(speeds[0] / step) * step, speeds[-1] + 1.0, step)
    head, columns = ["engine speed"], [[rpm(float(speed)) for speed in at]]
    for panel in chart.panels:
        for line in panel.lines:
            low = [band for band in panel.bands if band.key == line.key]
            head.append(line.label or panel.title)
            half = max((float(np.max(band.high - band.low)) / 2.0 for band in low), default=math.nan)
            decimals = places(half) if half > 0.0 else 1
            values = np.interp(at, line.x, line.y)
            columns.append([separated(digits(float(value), decimals, signed=line.y.min() < 0.0)) for value in values])
    rows = tuple(zip(*columns, strict=True))
    return Table(caption=f"{chart.title}: the numbers", head=tuple(head), rows=rows)
