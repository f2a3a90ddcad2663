"""Tasks of the workers about the virtual engine, each under the name of what its result rests on."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

from pullbook.app.content_key import file_key
from pullbook.app.engine_speeds import speeds_of
from pullbook.web.jobs import Task

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.app.engine_files import EngineFile
    from pullbook.app.sessions import SessionPlace
    from pullbook.web.jobs import Job
    from pullbook.web.notebook import Notebook

__all__ = ["curves_task", "found_job", "look_task", "run_task", "text_task", "waves_task"]


def look_task(place: SessionPlace, engine: EngineFile, units: str) -> Task:
    """Check an engine file and draw its pipes."""
    key = file_key(place.folder, engine.name, ("engine", units))
    arguments: dict[str, object] = {"folder": str(place.folder), "name": engine.name, "units": units}
    return Task(kind="engine", arguments=arguments, key=key, session=place.id)


def text_task(place: SessionPlace, engine: EngineFile, text: str) -> Task:
    """See whether a text can be an engine file; the answer is not kept."""
    return Task(kind="engine text", arguments={"text": text, "name": engine.name}, session=place.id)


def run_task(place: SessionPlace, engine: EngineFile, rpm: str, *, fine: bool) -> Task:
    """Run an engine over speed.

    Raises
    ------
    InputError
        If the speeds are none.
    """
    speeds = speeds_of(rpm, "rpm")
    key = file_key(place.folder, engine.name, ("simulate", *(f"{speed:.6g}" for speed in speeds), f"fine={fine}"))
    arguments: dict[str, object] = {
        "folder": str(place.folder), "name": engine.name, "speeds": list(speeds), "fine": fine,
    }  # fmt: skip
    return Task(kind="simulate", arguments=arguments, key=key, session=place.id)


def waves_task(place: SessionPlace, engine: EngineFile, at_rpm: float, units: str) -> Task:
    """Run an engine at one speed and draw its waves."""
    key = file_key(place.folder, engine.name, ("waves", f"{at_rpm:.6g}", units))
    arguments: dict[str, object] = {
        "folder": str(place.folder), "name": engine.name, "speed": at_rpm, "units": units,
    }  # fmt: skip
    return Task(kind="waves", arguments=arguments, key=key, session=place.id)


def curves_task(
    notebook: Notebook, place: SessionPlace, runs: Sequence[Mapping[str, str]], findings: str,
    builds: Sequence[Mapping[str, Any]], units: str,
) -> Task:  # fmt: skip
    """Lay computed curves beside the findings; all of it is kept under the keys that are named.

    Parameters
    ----------
    notebook : Notebook
        Where results are kept.
    place : SessionPlace
        The session.
    runs : sequence of mapping
        ``file``, ``build`` and ``key`` of each engine.
    findings : str
        Key of the findings; empty for none.
    builds : sequence of mapping
        ``name``, ``label`` and ``baseline`` of each build.
    units : str
        Units of the reader.
    """
    parts = ["engine curves", units, findings, *(str(sorted(one.items())) for one in (*runs, *builds))]
    arguments: dict[str, object] = {
        "cache": str(notebook.cache.folder), "runs": [dict(run) for run in runs], "findings": findings,
        "builds": [dict(build) for build in builds], "units": units,
    }  # fmt: skip
    key = hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()
    return Task(kind="engine curves", arguments=arguments, key=key, session=place.id)


def found_job(notebook: Notebook, task: Task) -> Job | None:
    """Job of a task that somebody asked for and that has no result yet; nothing is begun by this."""
    jobs = (job for job in notebook.jobs.jobs(task.session)[::-1] if job.key == task.key)
    return next((job for job in jobs if job.state != "done"), None)
