"""Charts over engine speed: curves with bands, and under them the differences on the same axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.publish.axes import difference_axis, rpm_axis, value_axis
from pullbook.publish.chart import Band, Chart, Line, Marker, Panel, Rule
from pullbook.publish.figures import separated
from pullbook.publish.palette import Fill, Ink
from pullbook.publish.speeds import rpm, rpm_range
from pullbook.publish.zones import Sign, sign_zones
from pullbook.quantities.rounding import digits

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pullbook.publish.chart import Axis
    from pullbook.publish.figures import Measure
    from pullbook.publish.telling import Telling
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import CurveBand
    from pullbook.records.finding import BuildFinding, Difference

__all__ = ["difference_panel", "effects_chart", "pair_chart", "power_chart", "torque_chart"]

_ZONE_INKS = {Sign.GAIN: Ink.GAIN, Sign.LOSS: Ink.LOSS, Sign.OPEN: Ink.OPEN}
_ZONE_FILLS = {Sign.GAIN: Fill.SOLID, Sign.LOSS: Fill.STRIPED, Sign.OPEN: Fill.HOLLOW}
_DIFFERENCE_WEIGHT = 0.42


def _curves(telling: Telling, builds: Sequence[BuildFinding], *, power: bool) -> tuple[list[Line], list[Band]]:
    grid = telling.findings.grid_rpm
    lines, bands = [], []
    for build in builds:
        curve = build.power if power else build.torque
        if curve is None:
            continue
        measure, style = telling.power if power else telling.torque, telling.style(build.name)
        label = telling.label(build.name)
        lines.append(
            Line(
                key=build.name, label=f"{build.name} {label}" if label != build.name else label, short=build.name,
                x=grid, y=measure.shown(curve.mean), ink=style.ink, dash=style.dash,
            )
        )  # fmt: skip
        bands += _bands(build.name, grid, measure, curve, Ink(style.ink))
    return lines, bands


def _bands(key: str, grid: FloatArray, measure: Measure, curve: CurveBand, ink: Ink) -> list[Band]:
    """One band for each stretch without gaps."""
    known = np.isfinite(curve.low) & np.isfinite(curve.high)
    stretches = np.split(np.arange(grid.size), np.flatnonzero(np.diff(known.astype(int))) + 1)
    return [
        Band(key=key, x=grid[part], low=measure.shown(curve.low[part]), high=measure.shown(curve.high[part]), ink=ink)
        for part in stretches if part.size > 1 and known[part[0]]
    ]  # fmt: skip


def _curve_panel(telling: Telling, key: str, builds: Sequence[BuildFinding]) -> Panel:
    power = key == "power"
    lines, bands = _curves(telling, builds, power=power)
    measure = telling.power if power else telling.torque
    word = "torque, % of the baseline" if telling.relative else f"{key}, {measure.symbol}"
    axis = value_axis(word, [*(line.y for line in lines), *(b.low for b in bands), *(b.high for b in bands)])
    names = {build.name for build in builds}
    return Panel(
        key=key, title=word, x=rpm_axis(telling), y=axis, lines=tuple(lines), bands=tuple(bands),
        markers=() if power else tuple(_crossings(telling, names)), builds=tuple(build.name for build in builds),
    )  # fmt: skip


def _crossings(telling: Telling, names: set[str]) -> Iterable[Marker]:
    """Certified crossovers as rings on the curves, with their interval of speed."""
    curves = {build.name: build.torque.mean for build in telling.findings.builds}
    grid = telling.findings.grid_rpm
    for difference in telling.findings.differences:
        if not {difference.of, difference.from_} <= names:
            continue
        for crossover in difference.crossovers:
            height = float(np.interp(crossover.rpm, grid, telling.torque.shown(curves[difference.of])))
            yield Marker(
                key=telling.pair(difference), x=crossover.rpm, y=height, low=crossover.low, high=crossover.high,
                ink=telling.style(difference.of).ink, hollow=True,
            )  # fmt: skip


def _zone_bands(telling: Telling, key: str, band: CurveBand) -> list[Band]:
    """Band cut into gain, loss and not decided; undecided parts reach to the decided points beside them."""
    grid, bands = telling.findings.grid_rpm, []
    for zone in sign_zones(band):
        reach = zone.sign is Sign.OPEN
        first = max(zone.first - reach, 0) if reach and _known(band, zone.first - 1) else zone.first
        last = zone.last + 1 if reach and _known(band, zone.last + 1) else zone.last
        part = slice(first, last + 1)
        bands.append(
            Band(
                key=key, x=grid[part], low=telling.torque.shown(band.low[part]),
                high=telling.torque.shown(band.high[part]), ink=_ZONE_INKS[zone.sign], fill=_ZONE_FILLS[zone.sign],
            )
        )  # fmt: skip
    return bands


def _known(band: CurveBand, index: int) -> bool:
    return 0 <= index < band.low.size and bool(np.isfinite(band.low[index]))


def difference_panel(telling: Telling, difference: Difference, axis: Axis) -> Panel:
    """Gain of one build on another, with its band cut into gain, loss and not decided."""
    key = telling.pair(difference)
    line = Line(
        key=key, label=f"{difference.of} minus {difference.from_}", short=f"{difference.of}\u2212{difference.from_}",
        x=telling.findings.grid_rpm, y=telling.torque.shown(difference.torque.mean), ink=Ink.INK,
    )  # fmt: skip
    crossings = tuple(
        Marker(
            key=key, x=crossover.rpm, y=0.0, low=crossover.low, high=crossover.high, hollow=True,
            label=rpm_range(crossover.low, crossover.high), label_left=crossover.sign_above > 0,
        ) for crossover in difference.crossovers
    )  # fmt: skip
    return Panel(
        key=key, title=f"{telling.named(difference.of)} minus {telling.named(difference.from_)}, {axis.title}",
        x=rpm_axis(telling), y=axis, lines=(line,), bands=tuple(_zone_bands(telling, key, difference.torque)),
        markers=crossings, rules=(Rule(at=0.0),), weight=_DIFFERENCE_WEIGHT, builds=(difference.of, difference.from_),
    )  # fmt: skip


def torque_chart(telling: Telling) -> Chart:
    """Torque of all builds, and under it every difference on the same rpm axis.

    Parameters
    ----------
    telling : Telling
        The result and the reader's units.

    Returns
    -------
    Chart
        Panels "torque", then one for each difference, as in "B-A".
    """
    findings = telling.findings
    axis = difference_axis(telling, [difference.torque for difference in findings.differences])
    panels = (
        _curve_panel(telling, "torque", findings.builds),
        *(difference_panel(telling, difference, axis) for difference in findings.differences),
    )
    return Chart(
        key="torque", title="Torque over engine speed, and the differences under it",
        says=_described(telling, panels[0], "Torque"), panels=panels,
    )  # fmt: skip


def pair_chart(telling: Telling, difference: Difference) -> Chart:
    """Torque of two builds and their difference, for a still."""
    builds = [build for build in telling.findings.builds if build.name in {difference.of, difference.from_}]
    axis = difference_axis(telling, [difference.torque])
    panel = _curve_panel(telling, "torque", builds)
    return Chart(
        key=f"{difference.of}-minus-{difference.from_}",
        title=f"{telling.named(difference.of)} against {telling.named(difference.from_)}",
        says=_described(telling, panel, "Torque"),
        panels=(panel, difference_panel(telling, difference, axis)),
    )  # fmt: skip


def power_chart(telling: Telling) -> Chart | None:
    """Power of all builds; None in a relative session."""
    builds = [build for build in telling.findings.builds if build.power is not None]
    if not builds:
        return None
    panel = _curve_panel(telling, "power", builds)
    return Chart(
        key="power", title="Power over engine speed", says=_described(telling, panel, "Power"), panels=(panel,)
    )


def effects_chart(telling: Telling) -> Chart | None:
    """Effect of each factor and each interaction over engine speed; None where nothing can be estimated."""
    findings = telling.findings
    named = [
        (f"{effect.factor}: {effect.from_level} to {effect.to_level}", effect.torque)
        for effect in findings.effects if effect.torque is not None
    ] + [
        (
            f"how far the gain of {inter.factor} changes from {inter.with_factor} {inter.level} to {inter.other_level}",
            inter.torque,
        ) for inter in findings.interactions
    ]  # fmt: skip
    if not named:
        return None
    axis = difference_axis(telling, [band for _, band in named])
    panels = tuple(
        Panel(
            key=f"effect-{number}", title=f"{title}, {axis.title}", x=rpm_axis(telling), y=axis,
            lines=(Line(key=title, x=findings.grid_rpm, y=telling.torque.shown(band.mean), ink=Ink.INK),),
            bands=tuple(_zone_bands(telling, title, band)), rules=(Rule(at=0.0),), weight=_DIFFERENCE_WEIGHT,
        ) for number, (title, band) in enumerate(named)
    )  # fmt: skip
    says = (
        "Effect on torque over engine speed of "
        + "; ".join(title for title, _ in named)
        + ". The sentences beside it say where each is a gain, a loss or not decided."
    )
    return Chart(key="effects", title="What each change does to torque", says=says, panels=panels)


def _described(telling: Telling, panel: Panel, word: str) -> str:
    """Text alternative of curves: ends and peak of each."""
    unit = panel.y.title.partition(", ")[2]
    told = []
    for line in panel.lines:
        known = np.flatnonzero(np.isfinite(line.y))
        if not known.size:
            continue
        first, last, top = int(known[0]), int(known[-1]), int(np.nanargmax(line.y))
        values = [separated(digits(float(line.y[i]), 0)) for i in (first, top, last)]
        told.append(
            f"{line.key}: {values[0]} at {rpm(float(line.x[first]))}, highest {values[1]} near "
            f"{rpm(float(line.x[top]))}, {values[2]} at {rpm(float(line.x[last]))}"
        )
    bands = " with bands" if panel.bands else " without bands, because no uncertainty can be stated"
    return f"{word} in {unit} from {rpm_range(*telling.ends_rpm)}{bands}. {'. '.join(told)}."
