"""Sessions of a folder: which there are, by what name a page may ask for them, and how a new one begins.

A request never names a path. It names an id, which is looked up in the list that this module makes by looking at the
disk, so that nothing outside the served folder can be reached, whatever is asked for.
"""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import write_folder
from pullbook.errors import FailureError, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["FILE", "SessionPlace", "find_session", "find_sessions", "folder_name", "make_session"]

FILE: Final = "session.toml"
_DEPTH: Final = 2
_MOST: Final = 5_000  # folders that are looked at; nobody reads a longer list
_NOT_PLAIN: Final = re.compile(r"[^a-z0-9]+")
_SLUG: Final = 48
_TRIES: Final = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPlace:
    """A session folder and the id by which a page asks for it.

    Attributes
    ----------
    id : str
        Letters, digits and dashes; the same as long as the folder keeps its place.
    folder : Path
        The folder.
    name : str
        Path below the served folder, with forward slashes; "." for that folder itself.
    """

    id: str
    folder: Path
    name: str


def folder_name(text: str) -> str:
    """Name of a folder for a title: small letters, digits and dashes, good on every system.

    Examples
    --------
    >>> folder_name("Länge der Rohre, 2.2 l")
    'lange-der-rohre-2-2-l'
    >>> folder_name("???")
    'session'
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return _NOT_PLAIN.sub("-", plain).strip("-")[:_SLUG].strip("-") or "session"


def find_sessions(root: Path) -> tuple[SessionPlace, ...]:
    """Sessions of a folder: itself, and the folders down to two levels below it that hold a ``session.toml``.

    Parameters
    ----------
    root : Path
        The served folder.

    Returns
    -------
    tuple of SessionPlace
        Last changed first; folders whose name begins with a dot and links to folders are passed over.

    Raises
    ------
    InputError
        If the folder is not there or may not be read.
    """
    try:
        found = [(place, _changed(place.folder)) for place in _walk(root, root, _DEPTH, [0])]
    except OSError as error:
        raise InputError(
            f"the folder of the sessions cannot be read ({error.strerror})", where=str(root),
            remedy="put it back, or start 'pullbook serve' with another folder",
        ) from None  # fmt: skip
    return tuple(place for place, _ in sorted(found, key=lambda pair: (-pair[1], pair[0].name)))


def find_session(root: Path, wanted: str) -> SessionPlace | None:
    """Session with an id; None where the folder holds none of that id."""
    return next((place for place in find_sessions(root) if place.id == wanted), None)


def _walk(root: Path, folder: Path, depth: int, seen: list[int]) -> Iterator[SessionPlace]:
    if (folder / FILE).is_file():
        yield _place(root, folder)
        if folder != root:
            return
    if depth == 0:
        return
    with os.scandir(folder) as entries:
        below = sorted(entry.name for entry in entries if _is_folder(entry))
    for name in below:
        seen[0] += 1
        if seen[0] > _MOST:
            return
        try:
            yield from _walk(root, folder / name, depth - 1, seen)
        except OSError:  # a folder of somebody else among ours is no reason to show none
            continue


def _is_folder(entry: os.DirEntry[str]) -> bool:
    return not entry.name.startswith(".") and entry.is_dir(follow_symlinks=False)


def _place(root: Path, folder: Path) -> SessionPlace:
    name = folder.relative_to(root).as_posix()
    digest = hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:8]
    words = folder.resolve().name if name == "." else folder.name
    return SessionPlace(id=f"{folder_name(words)}-{digest}", folder=folder, name=name)


def _changed(folder: Path) -> float:
    try:
        return (folder / FILE).stat().st_mtime
    except OSError:
        return 0.0


def make_session(root: Path, title: str, text: str) -> SessionPlace:
    """Make the folder of a new session.

    Parameters
    ----------
    root : Path
        The served folder.
    title : str
        Its title, from which the folder gets its name; a number is put behind a name that is taken.
    text : str
        The ``session.toml``.

    Returns
    -------
    SessionPlace
        The new one.

    Raises
    ------
    FailureError
        If the folder cannot be written to; nothing is left behind.
    """
    stem = folder_name(title)
    for number in range(1, _TRIES):
        folder = root / (stem if number == 1 else f"{stem}-{number}")
        if not folder.exists():
            write_folder(folder, [(FILE, text.encode())], replace=False)
            return _place(root, folder)
    raise FailureError(
        f"there are {_TRIES - 1} folders named {stem} already", where=str(root), remedy="give the session another title"
    )
