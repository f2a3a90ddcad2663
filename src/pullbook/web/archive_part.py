"""What the pages say of the archive: whether a session is remembered, who tested its changes before, what was found.

Looking at a page makes nothing: where there is no archive yet, nobody is asked.
"""

from __future__ import annotations

import asyncio
import json
import os
from typing import TYPE_CHECKING, Any, Final

from pullbook import __version__
from pullbook.errors import PullbookError, Way
from pullbook.quantities.phrases import counted, listed
from pullbook.web.error_form import error_form
from pullbook.web.remedies import offers
from pullbook.web.templating import stamp

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.sessions import SessionPlace
    from pullbook.web.jobs import Job
    from pullbook.web.notebook import Notebook

__all__ = ["archive_part", "found_part", "question_of"]

_NEW: Final = "with its files, its pulls and what it showed"
_SHOWN: Final = 5  # sessions of a change, and files that changed


def question_of(words: str, **more: object) -> dict[str, object]:
    """Question to the archive as a task carries it, once it is known to be one.

    Parameters
    ----------
    words : str
        What is looked for.
    **more : object
        ``engine``, ``since``, ``until``, ``excluded`` and ``most`` of `archive_question`, each of them or none.

    Raises
    ------
    InputError
        If it cannot be asked.
    """
    from pullbook.app.archive_question import archive_question

    question = {"text": words, **more}
    archive_question(**question)  # type: ignore[arg-type] # refused before anybody works on it
    return question


async def archive_part(notebook: Notebook, place: SessionPlace, *, opened: bool) -> dict[str, Any]:
    """Part of a session's page about the archive.

    Parameters
    ----------
    notebook : Notebook
        The served folder.
    place : SessionPlace
        The session.
    opened : bool
        Whether somebody opens the page; one that is open asks for itself again whenever a job of it ends.

    Returns
    -------
    dict of str to object
        For `archive.html.j2`.
    """
    part: dict[str, Any] = {
        "there": notebook.archive.is_there, "says": "", "hint": _NEW, "may_remember": True, "changes": [], "never": [],
        "asking": None,
    }  # fmt: skip
    job = notebook.archive.remembering(place)
    part["job"] = None if job is None or job.state == "done" else job.as_json()
    if part["there"]:
        if opened:
            notebook.archive.look_again()
        try:
            part |= await _recalled(notebook, place)
        except PullbookError as error:  # too much to do, or the answer is gone: the rest of the page stands
            part["says"] = f"The archive was not asked: {error.what}."
    if part.pop("as_it_stands", False) and job is not None and job.state.is_over:
        part["job"] = None  # whatever hindered it is over
    return {**part, "stamp": stamp(part)}


async def _recalled(notebook: Notebook, place: SessionPlace) -> dict[str, Any]:
    """What the archive says of a session, or the job that asks it."""
    task = await asyncio.to_thread(notebook.archive.recall_task, place)
    job = notebook.jobs.submit(task, again=False)
    if job.state != "done":
        nothing = offers(job.error, Way.REMEMBER)  # a database of a server that nobody has remembered anything in
        return {"there": not nothing, "asking": None if nothing else job.as_json()}
    told = json.loads((await notebook.jobs.files(job))["recall.json"])
    return {**_standing(told["remembered"]), **_tested(told["changes"], await _served(notebook))}


async def _served(notebook: Notebook) -> dict[str, str]:
    """Ids of the sessions that are served, by the place that the archive knows them by."""
    places = await notebook.places()
    return await asyncio.to_thread(lambda: {os.path.realpath(place.folder): place.id for place in places})


def _standing(told: Mapping[str, Any] | None) -> dict[str, object]:
    """What is said of the session itself, and whether remembering it would add anything."""
    if told is None:
        return {"says": "This session is not remembered: neither a search nor a pool of sessions knows of it."}
    name, day = f"session {told['session']}", told["at"][:10]
    apart = f" It is excluded from what is found and pooled: {told['excluded']}." if told["excluded"] else ""
    if told["changed"]:
        rest = len(told["changed"]) - _SHOWN
        files = [*told["changed"][:_SHOWN], *([f"{rest} more"] if rest > 0 else [])]
        says = f"It was remembered as {name}, revision {told['revision']}, on {day}. Since then {listed(files)}."
        return {"says": says + apart, "hint": "as a new revision; the one before stays"}
    says = f"Remembered as it stands: {name}, revision {told['revision']}, on {day}."
    if told["revision"] < told["latest"]:
        says += f" Another state of it, revision {told['latest']}, was remembered later and is the one that counts."
    return {"says": says + apart, "as_it_stands": True, "may_remember": told["program"] != __version__,
            "hint": f"again with the findings of pullbook {__version__}; those before stay"}  # fmt: skip


def _tested(changes: list[dict[str, Any]], served: Mapping[str, str]) -> dict[str, object]:
    """Who tested what before; changes that nobody tested are told together."""
    shown = [_change(change, served) for change in changes if change["sessions"] or change["without"]]
    told = {change["change"] for change in shown}
    return {"changes": shown, "never": [change["change"] for change in changes if change["change"] not in told]}


def _change(change: Mapping[str, Any], served: Mapping[str, str]) -> dict[str, Any]:
    count, without = len(change["sessions"]), change["without"]
    lead = (
        f"{counted(count, 'earlier session').capitalize()} tested" if count else "No earlier session kept an effect of"
    )
    said = f"{counted(without, 'more session' if count else 'session')} may have tested it and kept no effect"
    return {
        "change": change["change"], "lead": lead, "several": count > 1, "more": max(count - _SHOWN, 0),
        "sessions": [_linked(one, served) for one in change["sessions"][:_SHOWN]], "without": said if without else "",
    }  # fmt: skip


def _linked(one: Mapping[str, Any], served: Mapping[str, str]) -> dict[str, Any]:
    return {**one, "id": served.get(one["folder"], "")}


async def found_part(notebook: Notebook, words: str, *, opened: bool) -> dict[str, Any]:
    """Part of the list of sessions about the archive.

    Parameters
    ----------
    notebook : Notebook
        The served folder.
    words : str
        What is looked for; empty for nothing yet.
    opened : bool
        As `archive_part` takes it.

    Returns
    -------
    dict of str to object
        For `index.html.j2`.
    """
    part: dict[str, Any] = {"there": notebook.archive.is_there, "words": words, "found": None, "error": None}
    if part["there"] and words:
        if opened:
            notebook.archive.look_again()
        try:
            told = await _found(notebook, words)
            served = await _served(notebook)
            part["found"] = {**told, "sessions": [_linked(one, served) for one in told["sessions"]]}
        except PullbookError as error:
            part["error"] = error_form(error)
            part["there"] = not offers(part["error"], Way.REMEMBER)
    return {**part, "stamp": stamp(part)}


async def _found(notebook: Notebook, words: str) -> Any:  # noqa: ANN401 - what the archive answered
    task = notebook.archive.find_task(notebook.root, question_of(words))
    job: Job = notebook.jobs.submit(task)
    return json.loads((await notebook.jobs.files(job))["found.json"])
