"""The comparison of a session that came before: what a page goes on showing, marked, while a new one is being made.

Which one that was is noted when a page or the list shows it, in memory and in the cache, so that a page that is opened
after a new start of the notebook shows the same as one that was open all the time. A lost note costs the mark alone.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.content_key import folder_key, seen_behind

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pullbook.app.content_key import Seen
    from pullbook.app.sessions import SessionPlace
    from pullbook.records.draft import Draft
    from pullbook.web.asked import Asked
    from pullbook.web.cache import Cache

__all__ = ["Earlier", "EarlierOnes"]

_NAME: Final = "earlier.json"
_MOST: Final = 400  # notes that stay in memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """A comparison that was shown.

    Attributes
    ----------
    key : str
        Under which it is kept.
    folder : str
        The session folder.
    question : mapping of str to object
        What was asked, as `Asked.plain` gives it.
    text : str
        What ``session.toml`` said.
    seen : tuple
        Its files, as `seen_behind` gives them.
    """

    key: str
    folder: str
    question: Mapping[str, object]
    text: str
    seen: tuple[Seen, ...]


class EarlierOnes:
    """The comparisons that were shown last, of all sessions.

    Parameters
    ----------
    cache : Cache
        Where they are kept, and where it is noted which they are.
    """

    def __init__(self, cache: Cache) -> None:
        self._cache = cache
        self._known: OrderedDict[str, Earlier] = OrderedDict()
        self._last: dict[str, str] = {}

    def note(self, place: SessionPlace, asked: Asked, key: str, draft: Draft) -> None:
        """Remember that a comparison is shown, as the one that answers a question about a session."""
        earlier = self._known.get(key) or Earlier(
            key=key, folder=str(place.folder), question=asked.plain(), text=draft.text, seen=seen_behind(key)
        )
        self._known[key] = earlier
        with suppress(KeyError):  # another thread may take it away meanwhile, to make room
            self._known.move_to_end(key)
            while len(self._known) > _MOST:
                self._known.popitem(last=False)
        name = _name_of(place.folder, asked)
        if self._last.get(name) == key:
            return
        self._last[name] = key
        with suppress(OSError):  # a full disk: it is known as long as this notebook runs
            self._cache.drop(name)
            self._cache.put(name, {_NAME: json.dumps(asdict(earlier)).encode()})

    def find(self, place: SessionPlace, asked: Asked, shown: str = "") -> Earlier | None:
        """The comparison that a page goes on showing, where one is known and kept.

        Parameters
        ----------
        place : SessionPlace
            The session.
        asked : Asked
            What the page asks.
        shown : str
            Key of what it shows now, which stays even where another question is asked; empty for a page that is opened.
        """
        on_page = self._known.get(shown)
        if on_page is not None and on_page.folder == str(place.folder) and self._cache.has(on_page.key):
            return on_page
        name = _name_of(place.folder, asked)
        found = self._known.get(self._last.get(name, "")) or self._read(name)
        return found if found is not None and self._cache.has(found.key) else None

    def _read(self, name: str) -> Earlier | None:
        data = self._cache.read(name, _NAME)
        if data is None:
            return None
        try:
            found: dict[str, Any] = json.loads(data)
            seen = tuple((str(path), *map(int, numbers)) for path, *numbers in found.pop("seen"))
            return Earlier(**found, seen=seen)  # type: ignore[arg-type] # five of each, as they were written
        except (ValueError, TypeError, KeyError):
            return None


def _name_of(folder: Path, asked: Asked) -> str:
    return folder_key(folder, ("shown", *asked.parts))
