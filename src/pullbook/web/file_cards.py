"""Cards of the files of a session: what was understood of each, or the question that it leaves."""

from __future__ import annotations

import asyncio
import json
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.content_key import file_key
from pullbook.app.layouts import memory_stamp
from pullbook.app.plan_content import pulls_to_come
from pullbook.app.session_files import list_files
from pullbook.web.jobs import Task
from pullbook.web.sparkline import sparkline
from pullbook.web.templating import stamp

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.app.sessions import SessionPlace
    from pullbook.records.draft import Draft
    from pullbook.web.jobs import Job
    from pullbook.web.notebook import Notebook

__all__ = ["CARD", "card_task", "card_tasks", "file_cards", "read_card"]

CARD: Final = "card.json"
_SETTLED: Final = 2


def card_task(place: SessionPlace, values: Mapping[str, object], name: str) -> Task:
    """Task of a worker that reads one file, with the tester's word on its columns and what is remembered.

    Parameters
    ----------
    place : SessionPlace
        The session.
    values : mapping
        What its file says.
    name : str
        The file, as in "pulls/a1.csv".
    """
    own = [entry for entry in _pulls(values) if entry.get("file") == name]
    said = [values.get("columns"), *([entry.get("columns"), entry.get("received")] for entry in own)]
    rules = json.dumps(said, sort_keys=True, default=str)
    parts = ("card", rules, "in the run order" if own else memory_stamp())
    key = file_key(place.folder, name, parts)
    return Task(kind="read", arguments={"folder": str(place.folder), "name": name}, key=key, session=place.id)


def read_card(notebook: Notebook, task: Task) -> tuple[Any, Job | None]:
    """Card of a file where it was read; else None and the job that reads it, or failed to."""
    kept = notebook.kept(task.key, CARD)
    return (kept, None) if kept is not None else (None, notebook.jobs.submit(task, again=False))


def card_tasks(place: SessionPlace, draft: Draft) -> dict[str, Task]:
    """Task for each file of a session; the files are hashed, which may take long."""
    named = [str(entry.get("file")) for entry in _pulls(draft.values) if entry.get("file")]
    names = dict.fromkeys((*list_files(place.folder), *named))
    return {name: card_task(place, draft.values, name) for name in names}


async def file_cards(notebook: Notebook, place: SessionPlace, draft: Draft) -> dict[str, object]:
    """Cards of all files of the session for its page, those that need an answer first."""
    tasks = await asyncio.to_thread(card_tasks, place, draft)
    absent = await asyncio.to_thread(pulls_to_come, place.folder, draft.values)
    tasks = {name: task for name, task in tasks.items() if name not in absent}
    entries = _pulls(draft.values)
    cards = [_card(name, task.key, read_card(notebook, task), entries) for name, task in tasks.items()]
    cards.sort(key=lambda card: card["order"])
    return {
        "cards": cards,
        "open_cards": [card for card in cards if card["order"] < _SETTLED],
        "read_cards": [card for card in cards if card["order"] == _SETTLED],
        "absent": [name.removeprefix("pulls/") for name in absent],
        "files_stamp": stamp([draft.revision, absent, *((card["file"], card["stamp"]) for card in cards)]),
    }


def _pulls(values: Mapping[str, object]) -> list[dict[str, Any]]:
    pulls = values.get("pull")
    return [one for one in pulls if isinstance(one, dict)] if isinstance(pulls, list) else []


def _card(name: str, key: str, read: tuple[Any, Job | None], entries: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    found, job = read
    used = [(number, entry) for number, entry in enumerate(entries, start=1) if entry.get("file") == name]
    card: dict[str, Any] = {
        "file": name, "words": name.removeprefix("pulls/"), "job": None, "refused": None, "questions": [],
        "channels": [], "pulls": [], "doubts": [], "not_used": [], "remarks": [], "already": {}, "received": "",
        "state": "reading", "order": 1, "stamp": "reading", "in_run": bool(used), "free": [], "units": [], "loose": 0,
    }  # fmt: skip
    if found is None:
        return card | _being_read(job)
    tables = found["tables"]
    for part in ("channels", "doubts", "not_used"):
        card[part] = [one for table in tables for one in table.get(part, [])]
    card |= {part: found.get(part) or card[part] for part in ("refused", "remarks", "already", "received")}
    questions = [_question(question) for question in found["questions"]]
    card["questions"] = [question for question in questions if question["choices"]]
    card["units"] = list(dict.fromkeys(unit for question in questions for unit in question["units"]))
    card["free"] = [question for question in questions if question["others"]]
    card["pulls"] = [_pull(pull, used) for pull in found["pulls"]]
    card["stamp"] = stamp((key, used))  # a key stands for what is kept under it
    needed = any(question["needed"] for question in questions)
    card["state"] = "asks" if needed else "refused" if card["refused"] else "read"
    card["loose"] = sum(not pull["build"] for pull in card["pulls"])
    card["order"] = 0 if needed or card["refused"] else 1 if card["loose"] else _SETTLED
    return card


def _being_read(job: Job | None) -> dict[str, Any]:
    if job is None:
        return {}
    if job.error is not None:
        return {"refused": job.error, "state": "refused", "order": 0, "stamp": f"{job.state}", "retry": job.id}
    return {"job": job.as_json(), "stamp": f"{job.state}"}


def _question(question: Mapping[str, Any]) -> dict[str, Any]:
    choices = [
        {"words": choice["says"], "rule": json.dumps({"columns": choice["columns"], "received": choice["received"]})}
        for choice in question["choices"]
    ]
    return {**question, "choices": choices}


def _pull(pull: Mapping[str, Any], used: Sequence[tuple[int, Mapping[str, Any]]]) -> dict[str, Any]:
    which = pull["which"]
    number, entry = next(((n, one) for n, one in used if one.get("which", which) == which), (0, {}))
    curve = pull["curve"]
    return {
        "which": which,
        "number": number,
        "build": str(entry.get("build", "")),
        "words": pull["says"],
        "picture": sparkline(curve["speed_rpm"], curve["torque"], pull["says"]),
    }
