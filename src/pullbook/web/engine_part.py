"""What the page of a session says of the virtual engine: its engine files, their curves beside the findings, waves.

Looking at a page begins no run: a curve is computed when somebody asks for it, and shown wherever it is kept.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.engine_files import build_of, find_engines
from pullbook.app.engine_question import read_question
from pullbook.engine.templates import TEMPLATES
from pullbook.errors import PullbookError
from pullbook.web.engine_tasks import curves_task, found_job, look_task, run_task, waves_task
from pullbook.web.templating import stamp

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.app.engine_files import EngineFile
    from pullbook.app.engine_question import EngineQuestion
    from pullbook.app.sessions import SessionPlace
    from pullbook.web.asked import Asked
    from pullbook.web.jobs import Job, Task
    from pullbook.web.notebook import Notebook

__all__ = ["builds_of", "engine_part"]

_STEP: Final = 250.0  # rpm
_USUAL: Final = (2000.0, 6500.0)  # rpm; where no pull says how far the engine goes


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """Everything that the part is made of."""

    notebook: Notebook
    place: SessionPlace
    asked: Asked
    engines: tuple[EngineFile, ...]
    question: EngineQuestion
    builds: list[dict[str, Any]]
    baseline: str
    findings: str

    def build(self, engine: EngineFile) -> str:
        return build_of(engine, [str(build["name"]) for build in self.builds], self.baseline)

    def named(self, names: Sequence[str]) -> list[EngineFile]:
        known = {one.name: one for one in self.engines}
        return [known[name] for name in names if name in known]


async def engine_part(
    notebook: Notebook, place: SessionPlace, values: Mapping[str, object], asked: Asked, key: str
) -> dict[str, Any]:
    """Part of a session's page about the virtual engine.

    Parameters
    ----------
    notebook : Notebook
        The served folder.
    place : SessionPlace
        The session.
    values : mapping
        What its file says.
    asked : Asked
        What the address asks.
    key : str
        Key of the findings; empty where the session has none.

    Returns
    -------
    dict of str to object
        For `engine.html.j2`.
    """
    return await asyncio.to_thread(_part, notebook, place, values, asked, key)


def builds_of(values: Mapping[str, object]) -> tuple[list[dict[str, Any]], str]:
    """Builds of a session file as far as it goes, and the name of the baseline.

    Parameters
    ----------
    values : mapping
        What the file says.

    Returns
    -------
    builds : list of dict
        ``name``, ``label`` and ``baseline``.
    baseline : str
        Its name; empty where no build is called one.
    """
    entries = values.get("build")
    builds = [
        {"name": str(one["name"]), "label": str(one.get("label") or ""), "baseline": one.get("baseline") is True}
        for one in (entries if isinstance(entries, list) else ()) if isinstance(one, dict) and one.get("name")
    ]  # fmt: skip
    return builds, next((str(one["name"]) for one in builds if one["baseline"]), "")


def _part(
    notebook: Notebook, place: SessionPlace, values: Mapping[str, object], asked: Asked, key: str
) -> dict[str, Any]:
    engines = find_engines(place.folder)
    builds, baseline = builds_of(values)
    kept = notebook.kept_table(key, "parts.json") if key else None
    scene = _Scene(
        notebook=notebook, place=place, asked=asked, engines=engines, question=read_question(place.folder),
        builds=builds, baseline=baseline, findings=key if kept is not None else "",
    )  # fmt: skip
    cards = [_card(scene, engine) for engine in engines]
    taken = {card["build"] for card in cards}
    part: dict[str, Any] = {
        "cards": cards,
        "examples": [{"name": name, "words": words} for name, words in TEMPLATES.items()],
        "open_builds": [build["name"] for build in builds if build["name"] not in taken],
        "may_be_main": "engine.toml" not in {one.name for one in engines},
        "ends": _ends(scene.question, kept),
        "fine": scene.question.fine,
        "at_rpm": f"{scene.question.at_rpm or 5000.0:g}",
        "runs": None,
        "waves": None,
    }
    if engines:
        part["runs"] = _runs(scene)
        part["waves"] = _waves(scene)
    return {**part, "stamp": stamp((part, asked.units))}


def _ends(question: EngineQuestion, kept: Mapping[str, Any] | None) -> tuple[str, str, str]:
    """First speed, last speed and step of the curves: as asked last, else as far as the pulls go."""
    parts = question.rpm.split(":")
    if len(parts) == len(("from", "to", "step")):
        return parts[0], parts[1], parts[2]
    low, high = kept["ends_rpm"] if kept is not None else _USUAL
    first, last = -(-float(low) // _STEP) * _STEP, float(high) // _STEP * _STEP
    return f"{first:g}", f"{max(last, first):g}", f"{_STEP:g}"


def _card(scene: _Scene, engine: EngineFile) -> dict[str, Any]:
    """An engine file with what is known of it; it is looked at when somebody opens it."""
    task = look_task(scene.place, engine, scene.asked.units)
    found = scene.notebook.kept_table(task.key, "engine.json")
    chosen = scene.question.engines or tuple(one.name for one in scene.engines[:2])
    return {
        "id": engine.id, "file": engine.name, "build": scene.build(engine), "found": found, "key": task.key,
        "job": None if found else _job_words(found_job(scene.notebook, task)), "chosen": engine.name in chosen,
    }  # fmt: skip


def _runs(scene: _Scene) -> dict[str, Any] | None:
    """Curves that were asked for last: those that are there, and how far the others are."""
    files = scene.named(scene.question.engines)
    try:
        tasks = [run_task(scene.place, file, scene.question.rpm, fine=scene.question.fine) for file in files]
    except PullbookError:  # the question was written by somebody else
        return None
    if not tasks:
        return None
    told = [_told(scene, file, task) for file, task in zip(files, tasks, strict=True)]
    done = [
        {"file": file.name, "build": scene.build(file), "key": task.key}
        for file, task, one in zip(files, tasks, told, strict=True) if one["done"]
    ]  # fmt: skip
    curves = _curves(scene, done) if done else {"html": "", "key": "", "job": None}
    return {"files": told, "waiting": [one for one in told if not one["done"]], "curves": curves}


def _told(scene: _Scene, engine: EngineFile, task: Task) -> dict[str, Any]:
    done = scene.notebook.cache.has(task.key)
    job = None if done else _job_words(found_job(scene.notebook, task))
    return {"file": engine.name, "build": scene.build(engine), "done": done, "job": job}


def _curves(scene: _Scene, runs: list[dict[str, str]]) -> dict[str, Any]:
    """The chart; it is drawn at once, because what it is drawn from is there."""
    task = curves_task(scene.notebook, scene.place, runs, scene.findings, scene.builds, scene.asked.units)
    found = scene.notebook.kept_table(task.key, "curves.json")
    if found is not None:
        return {"html": str(found["html"]), "key": task.key, "job": None}
    return {"html": "", "key": task.key, "job": _job_words(scene.notebook.jobs.submit(task))}


def _waves(scene: _Scene) -> dict[str, Any] | None:
    found = scene.named([scene.question.waves])
    if not found or not scene.question.at_rpm:
        return None
    task = waves_task(scene.place, found[0], scene.question.at_rpm, scene.asked.units)
    kept = scene.notebook.kept_table(task.key, "waves.json")
    return {
        "file": found[0].name, "build": scene.build(found[0]), "at_rpm": f"{scene.question.at_rpm:,.0f}",
        "key": task.key, "html": str(kept["html"]) if kept else "", "id": found[0].id,
        "job": None if kept else _job_words(found_job(scene.notebook, task)),
    }  # fmt: skip


def _job_words(job: Job | None) -> dict[str, Any] | None:
    return None if job is None else job.as_json()
