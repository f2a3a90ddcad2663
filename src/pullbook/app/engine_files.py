"""Engine files of a session folder: which there are, which build each is about, what they say; a new one, a change.

An engine file is ``engine.toml``, ``engine-NAME.toml`` or ``engines/NAME.toml``. A request names an id, which is looked
up in the list that is made by looking at the disk.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import folder_of, inside, read_bytes
from pullbook.app.kept_texts import HISTORY, KEPT, over_of_history, over_of_kept, thin_out
from pullbook.app.sessions import folder_name
from pullbook.app.whole_file import write_whole
from pullbook.app.write_session import one_writer
from pullbook.errors import ConflictError, EngineFileError, FailureError, InputError, PullbookError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = [
    "MAIN",
    "EngineFile",
    "EngineText",
    "build_of",
    "engine_text",
    "find_engine",
    "find_engines",
    "make_engine",
    "replace_engine",
]

MAIN: Final = "engine.toml"
_FOLDER: Final = "engines"
_BESIDE: Final = "engine-"
_SUFFIX: Final = ".toml"
_MOST: Final = 24  # engine files of a session; nobody looks at more on one page
_LONGEST: Final = 200_000  # byte; the longest example has 8,000
_OWN: Final = ".pullbook"
_NOT_PLAIN: Final = re.compile(r"[^A-Za-z0-9]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineFile:
    """An engine file of a session.

    Attributes
    ----------
    id : str
        Letters, digits and dashes, by which a page asks for it.
    name : str
        Path below the session folder, with forward slashes.
    about : str
        What its name says it is about, as "b" of "engines/b.toml"; empty for ``engine.toml``.
    """

    id: str
    name: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineText:
    """An engine file as it stands.

    Attributes
    ----------
    text : str
        What it says.
    revision : str
        First digits of its hash.
    """

    text: str
    revision: str


def find_engines(folder: Path) -> tuple[EngineFile, ...]:
    """Engine files of a session, ``engine.toml`` first, at most 24.

    Parameters
    ----------
    folder : Path
        The session folder; none are found where it cannot be read.
    """
    root = folder_of(folder)
    names = [*_names(root, root), *_names(root, root / _FOLDER)]
    return tuple(_file(name) for name in names[:_MOST])


def find_engine(folder: Path, wanted: str) -> EngineFile | None:
    """Engine file of an id; None where the session has none of that id."""
    return next((one for one in find_engines(folder) if one.id == wanted), None)


def build_of(engine: EngineFile, builds: Sequence[str], baseline: str) -> str:
    """Build that an engine file is about.

    Parameters
    ----------
    engine : EngineFile
        The file.
    builds : sequence of str
        Names of the builds.
    baseline : str
        Name of the baseline; ``engine.toml`` is about it.

    Returns
    -------
    str
        The build whose name the file has, in small letters and without signs; empty where none or several have it.

    Examples
    --------
    >>> build_of(EngineFile(id="engines-b", name="engines/b.toml", about="b"), ["A", "B"], "A")
    'B'
    """
    if not engine.about:
        return baseline
    same = [name for name in builds if name.casefold() == engine.about.casefold()]
    alike = [name for name in builds if folder_name(name) == folder_name(engine.about)]
    found = same or alike
    return found[0] if len(found) == 1 else ""


def engine_text(folder: Path, engine: EngineFile) -> EngineText:
    """What an engine file says.

    Raises
    ------
    FileRefusedError
        If it cannot be read.
    EngineFileError
        If it is no text in UTF-8, or far too long.
    """
    data = bytes(read_bytes(inside(folder_of(folder), engine.name), engine.name))
    if len(data) > _LONGEST:
        raise EngineFileError("this is far too long for an engine file", where=engine.name, value=f"{len(data)} bytes",
                              remedy="keep measured curves of lift and flow short, or change it outside")  # fmt: skip
    try:
        return EngineText(text=data.decode("utf-8"), revision=_revision(data))
    except UnicodeDecodeError as error:
        raise EngineFileError("the file is not text in UTF-8", where=engine.name, remedy="save it as UTF-8") from error


def make_engine(folder: Path, text: str, build: str = "") -> EngineFile:
    """Write an engine file that is not there yet.

    Parameters
    ----------
    folder : Path
        The session folder.
    text : str
        What it is to say.
    build : str
        Build that it is about; empty for ``engine.toml``.

    Returns
    -------
    EngineFile
        The new one.

    Raises
    ------
    InputError
        If there is one already, or the session has as many as a page shows.
    FailureError
        If it cannot be written.
    """
    root = folder_of(folder)
    name = f"{_FOLDER}/{folder_name(build)}{_SUFFIX}" if build else MAIN
    with one_writer(root):
        if len(find_engines(root)) >= _MOST:
            raise InputError(f"the session has {_MOST} engine files already", where=name, remedy="take one away first")
        path = inside(root, name)
        if path.exists():
            raise InputError("this engine file is there already", where="build", value=name,
                             remedy="change it, or choose another build")  # fmt: skip
        _write(path, text)
    return _file(name)


def replace_engine(folder: Path, engine: EngineFile, text: str, *, revision: str) -> EngineText:
    """Put a whole text in place of an engine file; the former one is kept in ``.pullbook/history``.

    Parameters
    ----------
    folder : Path
        The session folder.
    engine : EngineFile
        The file.
    text : str
        The new text; lines end as they do in the file.
    revision : str
        Revision that was being edited.

    Returns
    -------
    EngineText
        The file as it stands now.

    Raises
    ------
    ConflictError
        If the file has changed meanwhile. It is as it was, and the text is kept in the folder under a name that the
        message says.
    FailureError
        If it cannot be written; it is as it was.
    """
    root = folder_of(folder)
    with one_writer(root):
        before = engine_text(root, engine)
        text = text.replace("\r\n", "\n")
        if "\r\n" in before.text:
            text = text.replace("\n", "\r\n")
        if text == before.text:
            return before
        if revision != before.revision:
            kept = _keep(root, KEPT, engine, text)
            raise ConflictError(
                f"somebody else has changed this file meanwhile; your text is kept in {kept}", where=engine.name,
                remedy="look at both and write what is to stand", yours=text, theirs=before.text,
            )  # fmt: skip
        _keep(root, HISTORY, engine, before.text)
        _write(inside(root, engine.name), text)
    return EngineText(text=text, revision=_revision(text.encode("utf-8")))


def _names(root: Path, folder: Path) -> list[str]:
    try:
        found = sorted(path.name for path in folder.iterdir() if path.suffix == _SUFFIX and path.is_file())
        if folder != root:
            names = [f"{folder.name}/{name}" for name in found if not name.startswith(".")]
        else:
            names = [name for name in (MAIN, *(n for n in found if n.startswith(_BESIDE))) if name in found]
        return [name for name in names if _is_inside(root, name)]
    except OSError:
        return []


def _is_inside(root: Path, name: str) -> bool:
    try:
        inside(root, name)
    except PullbookError:
        return False
    return True


def _file(name: str) -> EngineFile:
    stem = name.removesuffix(_SUFFIX)
    plain = _NOT_PLAIN.sub("-", stem).strip("-")
    if plain != stem.replace("/", "-"):
        plain = f"{plain}-{hashlib.sha256(name.encode('utf-8', 'surrogateescape')).hexdigest()[:6]}"
    about = "" if name == MAIN else stem.removeprefix(f"{_FOLDER}/").removeprefix(_BESIDE)
    return EngineFile(id=plain, name=name, about=about)


def _revision(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:16]


def _write(path: Path, text: str) -> None:
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o666
    try:
        path.parent.mkdir(exist_ok=True)
        write_whole(path, text.encode("utf-8"), mode=mode)
    except OSError as error:
        raise FailureError(
            f"the file cannot be written ({error.strerror or error})", where=path.name,
            remedy="check the free space and the permissions; what was there is unchanged",
        ) from error  # fmt: skip


def _keep(root: Path, where: str, engine: EngineFile, text: str) -> str:
    """Put a text aside, and say under which name; older ones may go for it."""
    folder = inside(root, _OWN) / where
    name = f"{engine.id}-{_revision(text.encode('utf-8'))}{_SUFFIX}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FailureError(f"the folder cannot be written to ({error.strerror})", where=_OWN,
                           remedy="check free space and permissions; nothing was changed") from error  # fmt: skip
    _write(folder / name, text)
    thin_out(folder, folder / name, over_of_history if where == HISTORY else over_of_kept)
    return f"{_OWN}/{where}/{name}"
