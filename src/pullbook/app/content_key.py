"""One name for all that a result rests on: the program, the session file, every file that it names, and the question.

A result that is kept under such a name can be given again without a look at what it holds: the same name is the same
result. Anything that changes on the disk gives another name.
"""

from __future__ import annotations

import hashlib
import os
import stat
import threading
import tomllib
from collections import OrderedDict
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias, TypeVar

from pullbook import __version__
from pullbook.app.folder import folder_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = [
    "Seen",
    "build_stamp",
    "content_key",
    "file_key",
    "folder_key",
    "named_files",
    "plain_key",
    "seen_behind",
    "still_as_seen",
]

Seen: TypeAlias = "tuple[str, int, int, int, int]"
"""A file and its size, times and place on the disk; -1 for each where there was no file."""

_Key = TypeVar("_Key")
_Value = TypeVar("_Value")

_FILE: Final = "session.toml"
_MEMO_FROM: Final = 1 << 16  # byte; a smaller file is read each time, which costs less than a wrong answer
_MOST_KNOWN: Final = 4096
_ABSENT: Final = "absent"
_NOTHING: Final = (-1, -1, -1, -1)

_lock: Final = threading.Lock()
_hashes: Final[OrderedDict[Seen, str]] = OrderedDict()
_behind: Final[OrderedDict[str, tuple[Seen, ...]]] = OrderedDict()


def build_stamp() -> str:
    """State of pullbook's own files in this process, which every name stands for."""
    return _sources()


def content_key(folder: Path, question_parts: Iterable[str] = (), *, build: str = "") -> str:
    """Name of what a session folder holds, for a question about it.

    The name stands for the version and the sources of pullbook, the bytes of ``session.toml``, the name and the bytes
    of every file that it names, and the question. A file that is not there counts as well: the name changes when it
    comes.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    question_parts : iterable of str
        What is asked, in a fixed order; kind of result first.
    build : str
        `build_stamp` of the process that the name is for; empty for this one.

    Returns
    -------
    str
        SHA-256, hexadecimal.

    Notes
    -----
    A file of 64 kB or more is read once, and again only when its size, its times or its place on the disk change.
    Nothing here raises: what cannot be read counts as absent, and whoever uses it next says why it cannot.
    """
    root = folder_of(folder)
    seen = [_look(root / _FILE)]
    text = _bytes(root / _FILE)
    parts = ["session", *question_parts, _FILE, _ABSENT if text is None else hashlib.sha256(text).hexdigest()]
    for name in named_files(text or b""):
        parts += [name, _hash_of(root, name, seen)]
    return _noted(parts, seen, build)


def file_key(folder: Path, name: str, question_parts: Iterable[str] = ()) -> str:
    """Name of what one file of a session folder holds, for a question about it alone.

    Parameters
    ----------
    folder : Path
        The session folder.
    name : str
        The file, relative to the folder.
    question_parts : iterable of str
        What is asked, in a fixed order; kind of result first.

    Returns
    -------
    str
        SHA-256, hexadecimal; a file that is not there, or not inside the folder, counts as absent.
    """
    seen: list[Seen] = []
    parts = ["file", *question_parts, name, _hash_of(folder_of(folder), name, seen)]
    return _noted(parts, seen)


def folder_key(folder: Path, question_parts: Iterable[str] = ()) -> str:
    """Name of a session folder itself, whatever it holds.

    Parameters
    ----------
    folder : Path
        The session folder.
    question_parts : iterable of str
        What is kept under the name, in a fixed order; kind of result first.

    Returns
    -------
    str
        SHA-256, hexadecimal; another one for another build of pullbook, as all keys are.
    """
    return _noted(["folder", *question_parts, os.path.realpath(folder_of(folder))], [])


def plain_key(question_parts: Iterable[str]) -> str:
    """Name of a question that rests on no file.

    Parameters
    ----------
    question_parts : iterable of str
        Everything that the answer depends on, in a fixed order; kind of result first.

    Returns
    -------
    str
        SHA-256, hexadecimal; another one for another build of pullbook, as all keys are.
    """
    return _noted(["plain", *question_parts], [])


def seen_behind(key: str) -> tuple[Seen, ...]:
    """State of the files when a key was last made by this process; none for a key that it did not make lately."""
    with _lock:
        return _behind.get(key, ())


def still_as_seen(seen: Iterable[Sequence[object]]) -> bool:
    """Whether files are as they were seen, by size, times and place on the disk.

    Parameters
    ----------
    seen : iterable of sequence
        As `seen_behind` gives them, perhaps after a way through JSON.
    """
    return all(tuple(one) == _look(Path(str(one[0]))) for one in seen)


def named_files(text: bytes) -> tuple[str, ...]:
    r"""Files that a session file names, each once, in order; none where it is no TOML yet.

    Parameters
    ----------
    text : bytes
        The file.

    Examples
    --------
    >>> named_files(b'[[pull]]\nfile = "pulls/a1.csv"\n[[pull]]\nfile = "pulls/a2.csv"\n')
    ('pulls/a1.csv', 'pulls/a2.csv')
    >>> named_files(b'[[pull]')
    ()
    """
    try:
        pulls = tomllib.loads(text.decode("utf-8-sig")).get("pull", [])
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
        return ()
    return tuple(dict.fromkeys(_files(pulls)))


def _files(pulls: object) -> Iterator[str]:
    for entry in pulls if isinstance(pulls, list) else ():
        name = entry.get("file") if isinstance(entry, dict) else None
        if isinstance(name, str) and name:
            yield name


def _noted(parts: Iterable[str], seen: Iterable[Seen], build: str = "") -> str:
    """Name for the parts, so that no two lists of them have the same one; what was seen is remembered with it."""
    digest = hashlib.sha256()
    for part in ("pullbook", __version__, build or _sources(), *parts):
        data = part.encode("utf-8", "surrogatepass")
        digest.update(len(data).to_bytes(8, "big") + data)
    key = digest.hexdigest()
    with _lock:
        _remember(_behind, key, tuple(seen))
    return key


def _hash_of(root: Path, name: str, seen: list[Seen]) -> str:
    """Hash of a named file; what was seen of it just before is added to `seen`."""
    path = _inside(root, name)
    if path is None:
        return _ABSENT
    before = _look(path)
    seen.append(before)
    with _lock:
        found = _hashes.get(before)
    if found is not None or before[1:] == _NOTHING:
        return found or _ABSENT
    try:
        found = _hash(path)
    except OSError:
        return _ABSENT
    if before[1] >= _MEMO_FROM and _look(path) == before:
        with _lock:
            _remember(_hashes, before, found)
    return found


def _inside(root: Path, name: str) -> Path | None:
    """Path of a named file; None where it lies outside the session and so will not be read by anybody."""
    try:
        path = root / name
        return path if Path(os.path.realpath(path)).is_relative_to(os.path.realpath(root)) else None
    except (OSError, ValueError):  # a name with a zero byte
        return None


def _hash(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _look(path: Path) -> Seen:
    try:
        found = path.stat()
        if stat.S_ISREG(found.st_mode):
            return str(path), found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino
    except (OSError, ValueError):
        pass
    return str(path), *_NOTHING


def _bytes(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None


def _remember(known: OrderedDict[_Key, _Value], key: _Key, value: _Value) -> None:
    known[key] = value
    known.move_to_end(key)
    if len(known) > _MOST_KNOWN:
        known.popitem(last=False)


@cache
def _sources() -> str:
    """State of pullbook's own files, so that another build of one version has results of its own."""
    package = Path(__file__).parents[1]
    states = [
        f"{path.relative_to(package).as_posix()}:{found.st_size}:{found.st_mtime_ns}"
        for path in sorted(package.rglob("*"))
        if "__pycache__" not in path.parts and path.is_file() and (found := path.stat())
    ]
    return hashlib.sha256("\n".join(states).encode()).hexdigest()
