"""Notebook: what all routes share - the served folder, the workers, what was kept - and the answers they need of it."""

from __future__ import annotations

import asyncio
import json
from collections import OrderedDict
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.content_key import content_key
from pullbook.app.edit_session import open_draft
from pullbook.app.sessions import find_session, find_sessions
from pullbook.errors import InputError
from pullbook.web.archive_desk import ArchiveDesk
from pullbook.web.earlier import EarlierOnes
from pullbook.web.jobs import Task

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pullbook.app.sessions import SessionPlace
    from pullbook.records.draft import Draft
    from pullbook.web.asked import Asked
    from pullbook.web.cache import Cache
    from pullbook.web.jobs import Job, Jobs
    from pullbook.web.settings import Settings

__all__ = ["MissingError", "Notebook"]

_PARSED: Final = 20_000_000  # byte of JSON that stays in memory as values


class MissingError(InputError):
    """What a request names is not there."""


class Notebook:
    """The served folder with the workers and what they made.

    Parameters
    ----------
    settings : Settings
        What is served, and to whom.
    jobs : Jobs
        The workers.
    cache : Cache
        What was kept.
    """

    def __init__(self, settings: Settings, jobs: Jobs, cache: Cache) -> None:
        self.settings = settings
        self.jobs = jobs
        self.cache = cache
        self.earlier = EarlierOnes(cache)
        self.archive = ArchiveDesk(settings.archive, jobs)
        self._parsed: OrderedDict[tuple[str, str], object] = OrderedDict()
        self._sizes: dict[tuple[str, str], int] = {}
        self._room = _PARSED

    @property
    def root(self) -> Path:
        """The served folder."""
        return self.settings.root

    async def places(self) -> tuple[SessionPlace, ...]:
        """Sessions of the folder, as they are on the disk now."""
        return await asyncio.to_thread(find_sessions, self.root)

    async def place(self, session: str) -> SessionPlace:
        """Session with an id.

        Raises
        ------
        MissingError
            If there is none.
        """
        found = await asyncio.to_thread(find_session, self.root, session)
        if found is None:
            raise MissingError(
                "there is no such session in the served folder", where="session", value=session[:80],
                remedy="look at the list of sessions; its folder may have been renamed or moved",
            )  # fmt: skip
        return found

    async def draft(self, place: SessionPlace) -> Draft:
        """What ``session.toml`` says, finished or not."""
        return await asyncio.to_thread(open_draft, place.folder)

    async def key(self, place: SessionPlace, question: Asked) -> str:
        """Key under which the answer to a question is kept."""
        return await asyncio.to_thread(content_key, place.folder, question.parts)

    def compare_task(self, place: SessionPlace, question: Asked, key: str, *, waited_for: bool = True) -> Task:
        """Task of a worker that answers a question."""
        arguments: dict[str, object] = {"folder": str(place.folder), **question.plain()}
        return Task(kind="page", arguments=arguments, key=key, session=place.id, waited_for=waited_for)

    async def answer(
        self, place: SessionPlace, question: Asked, *, again: bool = True, waited_for: bool = True
    ) -> tuple[str, Job]:
        """Key and job of the answer, done already where it was kept.

        One that was stopped is begun where `again`; one that nobody waits for lets the others go first.
        """
        _ = question.question
        key = await self.key(place, question)
        return key, self.jobs.submit(self.compare_task(place, question, key, waited_for=waited_for), again=again)

    def kept(self, key: str, name: str) -> object:
        """A kept JSON value, or None. The last ones stay in memory: a key stands for its content."""
        found = self._parsed.get((key, name))
        if found is not None:
            self._parsed.move_to_end((key, name))
            return found
        data = self.cache.read(key, name)
        if data is None:
            return None
        found = json.loads(data)
        self._parsed[(key, name)] = found
        self._room -= len(data)
        self._sizes[(key, name)] = len(data)
        while self._room < 0 and len(self._parsed) > 1:
            old, _ = self._parsed.popitem(last=False)
            self._room += self._sizes.pop(old)
        return found

    def kept_table(self, key: str, name: str) -> Mapping[str, Any] | None:
        """A kept JSON object, or None."""
        value = self.kept(key, name)
        return value if isinstance(value, dict) else None
