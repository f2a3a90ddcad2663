"""Charts of rows: window gains, claims, the scatter of the bench, and the pulls in run order."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from pullbook.publish.axes import rpm_axis, value_axis
from pullbook.publish.chart import Arrangement, Axis, Chart, Line, Marker, Panel, Rule
from pullbook.publish.claims import VERDICT_WORDS, claim_limit, claim_shown
from pullbook.publish.figures import Measure
from pullbook.publish.palette import Dash, Ink
from pullbook.publish.speeds import rpm_range
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from pullbook.publish.telling import Telling
    from pullbook.records.curve import Interval
    from pullbook.records.result import PullStatus
    from pullbook.records.verdict import ClaimFinding

__all__ = ["claim_chart", "claims_chart", "pulls_chart", "scatter_chart", "windows_chart"]

_ROW = 0.085  # height of a row as a share of the tallest panel
_STRETCHES = 22  # of a curve in the strip


def _sign_ink(gain: Interval) -> Ink:
    return Ink.GAIN if gain.low > 0.0 else Ink.LOSS if gain.high < 0.0 else Ink.OPEN


def windows_chart(telling: Telling) -> Chart | None:
    """Mean gains over the windows, one panel a comparison on one scale; None where no window was asked for."""
    compared = [difference for difference in telling.findings.differences if difference.windows]
    if not compared:
        return None
    measure = telling.torque
    gains = [gain.torque for difference in compared for gain in difference.windows]
    ends = np.array([[gain.value, gain.low, gain.high] for gain in gains])
    axis = value_axis(f"mean gain, {measure.symbol}", [measure.shown(ends)], signed=True)
    panels = []
    for difference in compared:
        count = len(difference.windows)
        markers = tuple(
            Marker(
                key=telling.pair(difference),
                x=gain.torque.value / measure.factor,
                y=float(count - 1 - row),
                low=gain.torque.low / measure.factor,
                high=gain.torque.high / measure.factor,
                ink=_sign_ink(gain.torque),
                bar=True,
                hollow=_sign_ink(gain.torque) is Ink.OPEN,
                label=measure.stated(gain.torque, signed=True),
            )
            for row, gain in enumerate(difference.windows)
        )
        names = tuple(rpm_range(gain.from_rpm, gain.to_rpm) for gain in reversed(difference.windows))
        panels.append(
            Panel(
                key=telling.pair(difference),
                title=f"{telling.named(difference.of)} minus {telling.named(difference.from_)}",
                x=axis,
                y=Axis(title="", low=-0.6, high=count - 0.4, ticks=tuple(map(float, range(count))), labels=names),
                markers=markers,
                rules=(Rule(at=0.0, upright=True),),
                weight=_ROW * (count + 0.2),
                builds=(difference.of, difference.from_),
            )
        )
    says = "; ".join(
        f"{panel.title}, {panel.y.labels[int(marker.y)]}: {marker.label}"
        for panel in panels
        for marker in panel.markers
    )
    return Chart(key="windows", title="Mean gains over rpm windows", says=f"{says}.", panels=tuple(panels))


def _claim_panel(telling: Telling, finding: ClaimFinding) -> Panel:
    claim = next(claim for claim in telling.session.claims if claim.id == finding.id)
    words, limit = claim_limit(telling, claim, finding)
    measure = Measure.named(finding.unit, telling.system)
    limits = (-limit, limit) if claim.within is not None else (limit,)
    shown = measure.shown(np.array([finding.estimate, finding.low, finding.high, *limits]))
    axis = value_axis("", [shown], signed=True, most=5)
    axis = replace(axis, labels=(*axis.labels[:-1], f"{axis.labels[-1]} {measure.symbol}"))
    marker = Marker(
        key=finding.id,
        x=float(shown[0]),
        y=0.0,
        low=float(shown[1]),
        high=float(shown[2]),
        ink=Ink.INK,
        hollow=finding.verdict is Verdict.UNDETERMINED,
    )
    rules = [Rule(at=0.0, upright=True)]
    last = float(shown[-1])
    rules += [
        Rule(at=float(end), upright=True, dash=Dash.DASHED, label=words if float(end) == last else "")
        for end in shown[3:]
    ]
    return Panel(
        key=finding.id,
        title=claim.says,
        aside=VERDICT_WORDS[finding.verdict],
        x=axis,
        y=Axis(title="", low=-1.0, high=1.0),
        markers=(marker,) if math.isfinite(finding.estimate) else (),
        rules=tuple(rules),
        weight=0.16,
    )


def claim_chart(telling: Telling, number: int) -> Chart:
    """One claim, counted from 0: its limit, the estimate and the interval; the words of the claim stand beside it."""
    finding = telling.findings.claims[number]
    panel = _claim_panel(telling, finding)
    says = f"{claim_shown(telling, finding)} against {panel.rules[-1].label}: {panel.aside}."
    return Chart(
        key=f"claim-{number + 1}",
        title=panel.title,
        says=says,
        panels=(replace(panel, title=""),),
        arrangement=Arrangement.ROWS,
    )


def claims_chart(telling: Telling) -> Chart | None:
    """All claims, each on its own scale; None where nothing was claimed."""
    findings = telling.findings.claims
    if not findings:
        return None
    says = " ".join(claim_chart(telling, number).says for number in range(len(findings)))
    panels = tuple(_claim_panel(telling, finding) for finding in findings)
    return Chart(
        key="claims", title="Claims and what the pulls show", says=says, panels=panels, arrangement=Arrangement.ROWS
    )


def scatter_chart(telling: Telling) -> Chart | None:
    """Standard deviation of one pull over engine speed; None where it is not known."""
    known = telling.findings.repeatability
    if known is None or not np.isfinite(known.sd_curve).any():
        return None
    grid = telling.findings.grid_rpm
    line = Line(key="sd", label="one pull", short="sd", x=grid, y=known.sd_curve, ink=Ink.INK)
    axis = value_axis("scatter, % of torque", [1.25 * known.sd_curve, np.zeros(1)], most=5)
    axis = Axis(title=axis.title, low=0.0, high=axis.high, ticks=axis.ticks, labels=axis.labels)
    panel = Panel(
        key="scatter",
        title="standard deviation of one pull, % of torque",
        x=rpm_axis(telling),
        y=axis,
        lines=(line,),
        rules=(Rule(at=known.sd.value, label="mean", dash=Dash.DASHED),),
        weight=0.42,
    )
    low, high = (Measure.percent().exact(round(float(end), 2)) for end in (np.nanmin(line.y), np.nanmax(line.y)))
    says = f"Standard deviation of one pull over engine speed, between {low} and {high} of torque."
    return Chart(key="scatter", title="How well a pull repeats", says=says, panels=(panel,))


def pulls_chart(telling: Telling) -> Chart:
    """Every pull as a little curve, in run order; those left out are struck."""
    statuses = telling.result.pulls
    curves = [_thinned(telling, status) for status in statuses]
    y = value_axis("torque", [curve[1] for curve in curves])
    low, high = min(float(c[0].min()) for c in curves), max(float(c[0].max()) for c in curves)
    x = Axis(title="engine speed, rpm", low=low, high=high)
    panels = []
    for number, (status, (speed, torque)) in enumerate(zip(statuses, curves, strict=True)):
        style = telling.style(status.build)
        panels.append(
            Panel(
                key=f"pull-{number + 1}",
                title=status.build,
                aside=status.clock or str(number + 1),
                x=x,
                y=Axis(title=y.title, low=y.low, high=y.high),
                lines=(Line(key=status.build, x=speed, y=torque, ink=style.ink, dash=style.dash),),
                struck="" if status.used else (status.reason(telling.system) or "left out"),
                builds=(status.build,),
            )
        )
    order = ", ".join(f"{panel.title}{' (left out)' if panel.struck else ''}" for panel in panels)
    return Chart(
        key="pulls",
        title="Pulls in the order they were made",
        says=f"Run order: {order}.",
        panels=tuple(panels),
        arrangement=Arrangement.STRIP,
    )


def _thinned(telling: Telling, status: PullStatus) -> tuple[np.ndarray, np.ndarray]:
    order = np.argsort(status.corrected.speed_rpm, kind="stable")
    speed, torque = status.corrected.speed_rpm[order], status.corrected.torque[order]
    # The lowest and the highest sample of each stretch are kept, so that a glitch shows in the small picture too.
    stretches = np.array_split(np.arange(speed.size), min(_STRETCHES, speed.size))
    ends = [part[pick(torque[part])] for part in stretches for pick in (np.argmin, np.argmax)]
    keep = np.unique([0, *ends, speed.size - 1])
    return speed[keep], (torque if telling.relative else telling.torque.shown(torque))[keep]
