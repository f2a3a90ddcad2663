"""Computed curves as a part of the page: sentences, chart with its picture, tables of the numbers."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.publish.engine_curves import EngineRun, Trace, engine_chart
from pullbook.publish.engine_story import engine_sentences, trust_sentences
from pullbook.publish.engine_tables import curves_table, points_table
from pullbook.publish.figures import Measure
from pullbook.publish.interactive import plotly_figure
from pullbook.publish.packing import packed
from pullbook.publish.palette import build_style
from pullbook.publish.parts import Both, figure_of
from pullbook.publish.sections import environment
from pullbook.quantities.arrays import frozen_floats
from pullbook.quantities.showing import UnitSystem, show
from pullbook.quantities.units import Dimension

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = ["EngineSource", "render_engine_curves", "shown_air"]

_KEY: Final = "engine"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineSource:
    """An engine file that was run.

    Attributes
    ----------
    file : str
        Its name.
    build : str
        Build that it is about; empty for none.
    engine : mapping
        The engine of its ``simulation.json``.
    """

    file: str
    build: str
    engine: Mapping[str, Any]


def render_engine_curves(
    sources: Sequence[EngineSource],
    findings: Mapping[str, Any] | None,
    builds: Sequence[Mapping[str, Any]],
    system: UnitSystem = UnitSystem.METRIC,
) -> tuple[str, str]:
    """Part of the page about computed curves.

    Parameters
    ----------
    sources : sequence of EngineSource
        The engines in their order, at least one; those without any point are told of and not drawn.
    findings : mapping or None
        As ``findings.json`` has it; None where the session has none.
    builds : sequence of mapping
        Builds of the session file in their order: ``name``, ``label``, ``baseline``.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    html : str
        Everything escaped; no style or script in it.
    figure : str
        JSON text of the figure ``engine`` to hover over; empty where nothing can be drawn.
    """
    measure = Measure.torque(system)
    engines = [source.engine for source in sources]
    measured = findings if findings is not None and findings["torque_kind"] != "relative" else None
    drawn = [source for source in sources if source.engine["points"]]
    first = drawn[0].build if drawn else ""
    runs = [_run(source, measured, builds, first) for source in drawn]
    context: dict[str, Any] = {
        "sentences": engine_sentences(runs, measure), "trust": trust_sentences(engines, measure), "air": _air(measured),
        "tables": [points_table(source.engine) for source in drawn], "figures": {},
    }  # fmt: skip
    figure = ""
    if runs:
        chart = engine_chart(runs, measure)
        table = curves_table(runs, measure)
        made = figure_of(_KEY, chart, chart)._replace(numbers=Both(metric=table, us=table), interactive=True)
        context["figures"] = {_KEY: made}
        figure = json.dumps(packed(plotly_figure(chart)), separators=(",", ":"), allow_nan=False)
    return environment().get_template("engine_curves.html.j2").render(context), figure


def _run(
    source: EngineSource, findings: Mapping[str, Any] | None, builds: Sequence[Mapping[str, Any]], first: str
) -> EngineRun:
    points = source.engine["points"]
    torque = _floats([point["torque"] for point in points])
    error = np.nan_to_num(np.abs(_floats(source.engine["grid_error"])))
    others = [str(build["name"]) for build in builds if not build["baseline"]]
    names = [str(build["name"]) for build in builds]
    place = others.index(source.build) if source.build in others else -1 if source.build else len(others)
    found = _named(findings, "builds", name=source.build)
    gain = _named(findings, "differences", **{"of": source.build, "from": first})
    label = next((str(build["label"]) for build in builds if build["name"] == source.build), "")
    return EngineRun(
        name=source.build if source.build in names else source.file, label=label, style=build_style(place),
        computed=Trace(speed_rpm=_floats([point["speed_rpm"] for point in points]), torque=torque, low=torque - error,
                       high=torque + error),
        measured=_trace(findings, found), gain=_trace(findings, gain),
    )  # fmt: skip


def _named(findings: Mapping[str, Any] | None, key: str, **wanted: str) -> Mapping[str, Any] | None:
    if findings is None:
        return None
    entries: list[Mapping[str, Any]] = findings[key]
    return next((one for one in entries if all(one[name] == value for name, value in wanted.items())), None)


def _trace(findings: Mapping[str, Any] | None, found: Mapping[str, Any] | None) -> Trace | None:
    if findings is None or found is None:
        return None
    band = found["torque"]
    mean = _floats(band["mean"])
    known = np.flatnonzero(np.isfinite(mean))
    if not known.size:
        return None
    part = slice(int(known[0]), int(known[-1]) + 1)
    return Trace(speed_rpm=_floats(findings["grid_rpm"])[part], torque=mean[part], low=_floats(band["low"])[part],
                 high=_floats(band["high"])[part])  # fmt: skip


def _floats(values: Sequence[float | None]) -> FloatArray:
    return frozen_floats([np.nan if value is None else float(value) for value in values])


def _air(findings: Mapping[str, Any] | None) -> str:
    """In which air each kind of curve holds."""
    computed = "Computed curves hold for the air that the engine file declares; no correction is applied to them."
    if findings is None:
        return f"{computed} There is no measured curve in N m to lay beside them yet."
    standard = findings["standard"]
    if standard == "none":
        return f"{computed} Measured curves are as observed, in the air of their pulls."
    return f"{computed} Measured curves are corrected to {standard}, so that the two may differ for their air alone."


def shown_air(temperature: float, pressure: float, humidity: float, system: UnitSystem) -> str:
    """Air of an engine file in words.

    Parameters
    ----------
    temperature, pressure, humidity : float
        Of the air outside. [K, Pa, 1]
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        As in "25 °C, 100.0 kPa, 32 % humidity".
    """
    warm = show(temperature, Dimension.TEMPERATURE, system)
    return f"{warm}, {show(pressure, Dimension.PRESSURE, system)}, {100 * humidity:.0f} % humidity"
