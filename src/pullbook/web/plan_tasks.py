"""Tasks of the workers about planning, each under the name of what its result rests on."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from pullbook.app.content_key import build_stamp, plain_key
from pullbook.app.plan_content import look_key, plan_basis
from pullbook.web.jobs import Task
from pullbook.web.work_plan import LOOK

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.plan_asked import PlanAsked
    from pullbook.app.sessions import SessionPlace
    from pullbook.web.notebook import Notebook

__all__ = ["look_task", "plan_task"]


def plan_task(notebook: Notebook, place: SessionPlace, values: Mapping[str, object], asked: PlanAsked) -> Task:
    """Make offers for a session.

    Parameters
    ----------
    notebook : Notebook
        Knows the archive.
    place : SessionPlace
        The session.
    values : mapping
        What its file says.
    asked : PlanAsked
        What is asked.
    """
    basis = plan_basis(place.folder, values)
    arguments: dict[str, object] = {
        "folder": str(place.folder), "basis": basis, "asked": asked.plain(), "archive": notebook.archive.place,
    }  # fmt: skip
    return Task(kind="plan", arguments=arguments, key=plain_key(("plan", *asked.parts, basis)), session=place.id)


def look_task(notebook: Notebook, place: SessionPlace, asked: PlanAsked) -> Task:
    """Look at a session that is under way, or find what was seen of it as it stands.

    A look changes ``session.toml``, so that what it was asked of is not what its result stands for: it has a name of
    its own until it is written. Where somebody took a look out of the file again, it has another one, because the look
    has to be written anew.

    Parameters
    ----------
    notebook : Notebook
        Where results are kept.
    place : SessionPlace
        The session.
    asked : PlanAsked
        What is asked.
    """
    seen = look_key(place.folder, asked)
    arguments: dict[str, object] = {
        "folder": str(place.folder), "cache": str(notebook.cache.folder), "build": build_stamp(),
        "asked": asked.plain(), "archive": notebook.archive.place,
    }  # fmt: skip
    names = (plain_key(("to look", place.id, seen, str(number))) for number in count())
    key = seen if notebook.cache.has(seen) else next(name for name in names if notebook.cache.read(name, LOOK) is None)
    return Task(kind="next", arguments=arguments, key=key, session=place.id)
