"""A report in two steps: drawn up beside the session where only the tester sees it, then published.

Drawn up it lies in ``.pullbook/report`` of the session folder with a list of its files; published it is copied into
``report``, whole, and what an earlier report left there and this one does not have is taken away.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.folder import inside, read_session_text, write_folder
from pullbook.app.swap_folder import mend_folder, replace_folder
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pullbook.app.ports import Progress
    from pullbook.app.question import Question

__all__ = ["DRAFT", "PUBLISHED", "Staged", "draw_up", "drawn_up", "file_of", "publish_drawn", "published"]

DRAFT: Final = ".pullbook/report"
PUBLISHED: Final = "report"
_LIST: Final = "contents.json"
_PUBLIC_LIST: Final = ".pullbook/published.json"  # beside the report, so that the report holds nothing but itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Staged:
    """A report that was drawn up, or published.

    Attributes
    ----------
    key : str
        Name of the content that it was made from.
    files : tuple of (str, int)
        Relative names with forward slashes, and lengths. [byte]
    pulls : tuple of str
        Names of the files of the bench that the page names.
    notes : bool
        Whether the session's notes are in it.
    """

    key: str
    files: tuple[tuple[str, int], ...]
    pulls: tuple[str, ...]
    notes: bool


def draw_up(folder: Path, question: Question, key: str, progress: Progress, *, quick: bool) -> Staged:
    """Compare a session and draw up its report beside it.

    Parameters
    ----------
    folder : Path
        The session folder.
    question : Question
        What is asked.
    key : str
        Name of the content that the report is made from.
    progress : Progress
        Is told how far the work is.
    quick : bool
        Only light stills of 1920 by 1080 pixels.

    Returns
    -------
    Staged
        What was drawn up.

    Raises
    ------
    PullbookError
        As `compare_session`; what was drawn up before is still there then.
    """
    from pullbook.app.compare_builds import compare_session
    from pullbook.publish.files import publish_files

    read_session_text(folder)
    result = compare_session(folder, question, progress, with_windows=True)
    made: list[tuple[str, int]] = []
    pulls = tuple(dict.fromkeys(entry.file for entry in result.session.pulls))

    def watched() -> Iterator[tuple[str, bytes]]:
        for number, (name, content) in enumerate(publish_files(result, system=question.system, quick=quick)):
            progress.step(f"drawing {name}", number, number + 1)
            made.append((name, len(content)))
            yield name, content
        yield _LIST, json.dumps(asdict(_staged(key, made, pulls, notes=bool(result.session.notes)))).encode()

    goal = inside(folder, DRAFT)
    before = drawn_up(folder)
    replace_folder(goal, watched(), ours=_names(before))
    return _staged(key, made, pulls, notes=bool(result.session.notes))


def _mend(folder: Path, where: str) -> None:
    with suppress(OSError):
        mend_folder(inside(folder, where))


def _staged(key: str, made: list[tuple[str, int]], pulls: tuple[str, ...], *, notes: bool) -> Staged:
    return Staged(key=key, files=tuple(made), pulls=pulls, notes=notes)


def drawn_up(folder: Path) -> Staged | None:
    """The report that was drawn up last; None where there is none."""
    _mend(folder, DRAFT)
    return _listed(folder, _list_of(DRAFT))


def published(folder: Path) -> Staged | None:
    """The report that was published last; None where there is none, or somebody took it away."""
    _mend(folder, PUBLISHED)
    found = _listed(folder, _list_of(PUBLISHED))
    return found if found and (folder / PUBLISHED / "report.html").is_file() else None


def publish_drawn(folder: Path, key: str) -> list[Path]:
    """Publish the report that was drawn up, if it is of the session as it stands.

    Parameters
    ----------
    folder : Path
        The session folder.
    key : str
        Name of the content that the report has to be made from.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    InputError
        If none was drawn up, or the session or the question is another one by now; what was published before is
        unchanged.
    FailureError
        If the folder cannot be written to; what was published before is unchanged.
    """
    staged = drawn_up(folder)
    if staged is None:
        raise InputError("no report was drawn up", where=folder.name, remedy="draw it up first, and look at it")
    if staged.key != key:
        raise InputError(
            "the session, or what is asked of it, has changed since the report was drawn up", where=folder.name,
            remedy="draw it up again, and look at it before it is published",
        )  # fmt: skip
    source, goal = inside(folder, DRAFT), inside(folder, PUBLISHED)
    before = published(folder)
    names = [name for name, _ in staged.files]
    written = replace_folder(goal, ((name, (source / name).read_bytes()) for name in names), ours=_names(before))
    listed = inside(folder, _PUBLIC_LIST)
    write_folder(listed.parent, [(listed.name, (source / _LIST).read_bytes())], replace=True)
    return written


def file_of(folder: Path, where: str, name: str) -> Path | None:
    """File of a report by its name, looked up in the list of the report; None where the list has none of that name."""
    staged = _listed(folder, _list_of(where))
    if staged is None or name not in {known for known, _ in staged.files}:
        return None
    path = inside(folder, f"{where}/{name}")
    return path if path.is_file() else None


def _list_of(where: str) -> str:
    return _PUBLIC_LIST if where == PUBLISHED else f"{where}/{_LIST}"


def _names(staged: Staged | None) -> frozenset[str]:
    return frozenset({_LIST, *(name for name, _ in staged.files)} if staged else ())


def _listed(folder: Path, name: str) -> Staged | None:
    try:
        found: Any = json.loads(inside(folder, name).read_bytes())
        return Staged(
            key=str(found["key"]),
            files=tuple((str(file), int(size)) for file, size in found["files"]),
            pulls=tuple(map(str, found["pulls"])),
            notes=bool(found["notes"]),
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
