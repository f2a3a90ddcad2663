"""The kinds of long work about the virtual engine: look at an engine file, run it, lay its curves beside the findings.

The module is imported by the server as well, so everything heavy is imported inside.
"""

from __future__ import annotations

import json
import os
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pullbook.errors import PullbookError
from pullbook.quantities.showing import UnitSystem
from pullbook.records.json_text import compact_json, json_text
from pullbook.web.cache import Cache
from pullbook.web.jobs_kind import Kind

if TYPE_CHECKING:
    from collections.abc import Generator, Mapping, Sequence

    from pullbook.app.ports import Progress

__all__ = [
    "ENGINE_KINDS",
    "SIMULATION",
    "engine_curves",
    "look_at_engine",
    "run_engine",
    "run_waves",
    "try_engine_text",
]

SIMULATION: Final = "simulation.json"


def look_at_engine(progress: Progress, *, folder: str, name: str, units: str) -> dict[str, bytes]:
    """Check an engine file and draw its pipes; ``check.json`` is what ``pullbook engine check --json`` writes.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    name : str
        The engine file, as in "engines/a.toml".
    units : str
        Units of the reader: metric or us.
    """
    from pullbook.app.check_engine import check_engine
    from pullbook.app.engine_json import engine_as_json
    from pullbook.publish.engine_drawing import engine_drawing
    from pullbook.publish.engine_page import shown_air
    from pullbook.publish.engine_words import engine_words
    from pullbook.publish.stills import APPEARANCES

    system = UnitSystem(units)
    with _named(folder, name) as path:
        checked = check_engine(path)
    spec, air = checked.spec, checked.spec.ambient
    plain = engine_as_json(checked)
    card = {
        "name": spec.block.name, "words": engine_words(spec, checked.network, system), "unusual": plain["unusual"],
        "remarks": plain["remarks"], "assumed": plain["assumed"],
        "air": shown_air(air.temperature, air.pressure, air.humidity, system),
    }  # fmt: skip
    files = {"check.json": json_text(plain).encode(), "engine.json": compact_json(card)}
    for number, one in enumerate(one for one in APPEARANCES if not one.transparent):
        progress.step("drawing the pipes", number, 2)
        drawn = engine_drawing(checked.network, f"{spec.block.name}: pipes to scale", one, system=system)
        files[f"drawing-{one.name}.svg"] = drawn
    return files


def try_engine_text(progress: Progress, *, text: str, name: str) -> dict[str, bytes]:
    """See whether a text is an engine file that can be run; it is refused as the commands refuse it.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    text : str
        The text.
    name : str
        What to call it in a message.
    """
    from pullbook.engine.engine_file import parse_engine
    from pullbook.engine.layouts import build_network
    from pullbook.engine.remarks import remarks_on

    progress.step("checking the engine file", 0, 1)
    spec = parse_engine(text, where=name)
    build_network(spec, where=name)
    return {"sound.json": compact_json({"remarks": remarks_on(spec)})}


def run_engine(progress: Progress, *, folder: str, name: str, speeds: Sequence[float], fine: bool) -> dict[str, bytes]:
    """Run an engine over speed; ``simulation.json`` is what ``pullbook simulate --json`` writes.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is; the first run after an installation compiles, which it says.
    folder : str
        The session folder.
    name : str
        The engine file.
    speeds : sequence of float
        Engine speeds. [rpm]
    fine : bool
        Cells of half the size.
    """
    from pullbook.app.simulate_engine import SimulateQuestion, simulate_engines
    from pullbook.records.codec_simulation import simulation_to_json

    # One processor is left to the page.
    question = SimulateQuestion(speeds_rpm=tuple(speeds), fine=fine, threads=max(1, (os.cpu_count() or 1) - 1))
    with _named(folder, name) as path:
        curves = simulate_engines([path], question, progress)
    if any(curve.interrupted for curve in curves):
        raise KeyboardInterrupt  # a part of a curve is not what the key stands for
    return {SIMULATION: json_text(simulation_to_json(curves)).encode()}


def run_waves(progress: Progress, *, folder: str, name: str, speed: float, units: str) -> dict[str, bytes]:
    """Run an engine at one speed and draw what happens in the pipes of its first cylinder.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    name : str
        The engine file.
    speed : float
        Engine speed. [rpm]
    units : str
        Units of the reader: metric or us.
    """
    from pullbook.app.simulate_engine import SimulateQuestion, first_words, picture_waves
    from pullbook.publish.engine_waves import waves_html

    question = SimulateQuestion(speeds_rpm=(speed,), reflections=True)
    with _named(folder, name) as path:
        progress.step(first_words(path), 0, 1)
        point, pictures = picture_waves(path, question)
    told = {"html": waves_html(point, UnitSystem(units)), "torque": point.torque}
    return {"waves.json": compact_json(told), **{f"waves-{look}.png": data for look, data in pictures.items()}}


def engine_curves(
    progress: Progress, *, cache: str, runs: Sequence[Mapping[str, str]], findings: str,
    builds: Sequence[Mapping[str, Any]], units: str,
) -> dict[str, bytes]:  # fmt: skip
    """Lay computed curves beside the measured ones, out of results that are kept.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    cache : str
        Folder of the results.
    runs : sequence of mapping
        ``file``, ``build`` and the ``key`` of the simulation of each engine.
    findings : str
        Key of the findings; empty where there are none.
    builds : sequence of mapping
        Builds of the session file: ``name``, ``label``, ``baseline``.
    units : str
        Units of the reader: metric or us.
    """
    from pullbook.publish.engine_page import EngineSource, render_engine_curves

    progress.step("drawing the curves", 0, 1)
    kept = Cache(Path(cache))
    sources = [
        EngineSource(file=run["file"], build=run["build"], engine=_kept(kept, run["key"], SIMULATION)["engines"][0])
        for run in runs
    ]
    measured = _kept(kept, findings, "findings.json") if findings else None
    html, figure = render_engine_curves(sources, measured, builds, UnitSystem(units))
    chart = {"chart-engine.json": figure.encode()} if figure else {}
    return {"curves.json": compact_json({"html": html}), **chart}


@contextmanager
def _named(folder: str, name: str) -> Generator[Path]:
    """Path of an engine file; a message names it as the page does, not by its place on this machine."""
    from pullbook.app.folder import inside

    path = inside(Path(folder), name)
    try:
        yield path
    except PullbookError as error:
        error.where = error.where.replace(str(path), name)
        raise


def _kept(cache: Cache, key: str, name: str) -> Any:  # noqa: ANN401 - JSON of any shape
    data = cache.read(key, name)
    if data is None:
        raise PullbookError("a result that this is drawn from is no longer kept", where=name, remedy="run it again")
    return json.loads(data)


ENGINE_KINDS: Final[dict[str, Kind]] = {
    "engine": Kind(run=look_at_engine, urgent=False),
    "engine text": Kind(run=try_engine_text),
    "simulate": Kind(run=run_engine, urgent=False),
    "waves": Kind(run=run_waves, urgent=False),
    "engine curves": Kind(run=engine_curves, urgent=False),
}
"""Kinds of work about the virtual engine by the name that a `Task` gives."""
