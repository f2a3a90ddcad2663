"""Part of a session's page about planning: orders to choose from before the first pull, what next between pulls."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.plan_asked import read_plan_asked
from pullbook.app.plan_content import pulls_there
from pullbook.web.engine_tasks import found_job
from pullbook.web.plan_tasks import look_task, plan_task
from pullbook.web.templating import stamp
from pullbook.web.work_plan import ORDERS, shown_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.sessions import SessionPlace
    from pullbook.web.asked import Asked
    from pullbook.web.jobs import Task
    from pullbook.web.notebook import Notebook

__all__ = ["plan_part"]

_FEWEST: Final = 2  # builds; one alone has nothing to be compared with
_ODDS: Final = (60.0, 70.0, 80.0, 90.0, 95.0)


async def plan_part(
    notebook: Notebook, place: SessionPlace, values: Mapping[str, Any], asked: Asked
) -> dict[str, dict[str, Any] | None]:
    """What the page shows of planning.

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

    Returns
    -------
    dict of str to dict or None
        ``plan`` while the session has builds and no pull with a file; ``what_next`` while some pulls of the run order
        have files and others not.
    """
    return await asyncio.to_thread(_parts, notebook, place, values, asked.units)


def _parts(
    notebook: Notebook, place: SessionPlace, values: Mapping[str, Any], units: str
) -> dict[str, dict[str, Any] | None]:
    made, waiting = pulls_there(place.folder, values)
    builds = _entries(values, "build")
    plan = _plan(notebook, place, values, units) if len(builds) >= _FEWEST and not made else None
    what_next = _what_next(notebook, place, units) if made and waiting else None
    return {"plan": plan, "what_next": what_next}


def _plan(notebook: Notebook, place: SessionPlace, values: Mapping[str, Any], units: str) -> dict[str, Any]:
    asked = read_plan_asked(place.folder)
    task = plan_task(notebook, place, values, asked)
    found = notebook.kept_table(task.key, shown_name(units))
    part = {
        "asked": asked.plain(),
        "odds": sorted({*_ODDS, asked.odds}),
        "archive": notebook.archive.is_there,
        "claims": len(_entries(values, "claim")),
        "found": found,
        "key": task.key,
        "taken": _taken(notebook, task, values) if found else "",
        "job": None if found else _job_words(notebook, task),
    }
    return {**part, "stamp": stamp((part, units))}


def _what_next(notebook: Notebook, place: SessionPlace, units: str) -> dict[str, Any]:
    asked = read_plan_asked(place.folder)
    task = look_task(notebook, place, asked)
    found = notebook.kept_table(task.key, shown_name(units))
    part = {
        "asked": asked.plain(), "found": found, "job": None if found else _job_words(notebook, task),
    }  # fmt: skip
    return {**part, "stamp": stamp((part, units))}


def _taken(notebook: Notebook, task: Task, values: Mapping[str, Any]) -> str:
    """Name of the order that the run order is; empty where it is none of them."""
    orders = notebook.kept_table(task.key, ORDERS) or {}
    run = [(one.get("build"), one.get("file")) for one in _entries(values, "pull")]
    return next((name for name, order in orders.items() if run == [(one["build"], one["file"]) for one in order]), "")


def _entries(values: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    found = values.get(key)
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _job_words(notebook: Notebook, task: Task) -> dict[str, Any] | None:
    job = found_job(notebook, task)
    return None if job is None else job.as_json()
