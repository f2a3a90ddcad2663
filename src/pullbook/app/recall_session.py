"""recall: session folder -> whether it is in the archive as it stands, and who tested its changes before."""

from __future__ import annotations

import hashlib
import re
from contextlib import suppress
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.app.archive_question import archive_question
from pullbook.app.content_key import named_files
from pullbook.app.edit_session import open_draft
from pullbook.app.folder import folder_of, inside, read_bytes, read_session_bytes
from pullbook.app.pool_numbers import kept_effect, usual_windows
from pullbook.app.remember_session import archive_folder, archive_key, remembered_files
from pullbook.errors import InputError
from pullbook.publish.pool_words import own_interval, stated
from pullbook.publish.speeds import rpm_range
from pullbook.quantities.free_quantity import free_quantity
from pullbook.records.archive_answer import ArchiveQuestion
from pullbook.records.pooled import ChangeAsked
from pullbook.records.recollection import Recollection, SessionState, TestedChange, TestedIn

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pullbook.app.ports import Archive, Progress
    from pullbook.records.pooled import KeptEvidence
    from pullbook.records.session import Session

__all__ = ["recall_session", "recollection_json", "session_state"]

_WORD: Final = re.compile(r"[^\W_]+(?:[-./][^\W_]+)*")
_DOING: Final = "asking the archive"
_UNSAID: Final = "Its speeds have a gap, so that no mean over all of them can be told."


def recall_session(folder: Path, archive: Archive, progress: Progress) -> Recollection:
    """Look a session up, and who tested its changes before; nothing is compared and nothing is written.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    archive : Archive
        Where it may be.
    progress : Progress
        Is told how far the work is.

    Raises
    ------
    InputError
        If there is no session or no archive, or a file of the session is not there.
    FailureError
        If the archive cannot be read.
    """
    progress.step(_DOING, 0, 0)
    recalled = archive.look_up(session_state(folder))
    session = open_draft(folder).session
    asked = list(_changes(session)) if session is not None else []
    changes = []
    for done, change in enumerate(asked):
        progress.step(_DOING, done, len(asked))
        changes.append(_tested(archive, change, recalled.session if recalled is not None else ""))
    return Recollection(recalled=recalled, changes=tuple(changes))


def session_state(folder: Path) -> SessionState:
    """State of a session folder by its hashes.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.

    Raises
    ------
    InputError
        If a file is not there.
    """
    root = folder_of(folder)
    text = read_session_bytes(folder)
    names = remembered_files(root, text)
    files = {name: hashlib.sha256(read_bytes(inside(root, name), name)).hexdigest() for name in names}
    return SessionState(key=archive_key(files), folder=archive_folder(root), files=files, pulls=named_files(text))


def _changes(session: Session) -> Iterator[ChangeAsked]:
    """Each level of a build that is another than that of the baseline; builds by their labels where nothing is named.

    A change in which a side has no words that can be looked for is passed over.
    """
    start = session.baseline
    pairs = [
        (factor.name, level, start.levels.get(factor.name, ""))
        for factor in session.factors
        for level in dict.fromkeys(build.levels.get(factor.name, "") for build in session.builds)
    ]
    if not session.factors:
        pairs = [("", build.label, start.label) for build in session.builds]
    for factor, level, before in pairs:
        with suppress(InputError):
            to, from_ = _side(factor, level), _side("", before)
            if level != before and _says(to) and _says(from_):
                yield ChangeAsked(written=f"{factor} {level} from {before}".strip(), to=to, from_=from_, step=0)


def _side(factor: str, level: str) -> ArchiveQuestion:
    """One side of a change: a level that is a dimension is looked for as one, whatever its unit; any other by words."""
    words = tuple(word.lower() for word in _WORD.findall(factor))
    if free_quantity(level) is None:
        return ArchiveQuestion(words=(*words, *(word.lower() for word in _WORD.findall(level))))
    sizes = archive_question(level).dimensions
    return ArchiveQuestion(words=words, dimensions=tuple(replace(size, difference=False) for size in sizes))


def _says(side: ArchiveQuestion) -> bool:
    return bool(side.words or side.dimensions)


def _tested(archive: Archive, change: ChangeAsked, itself: str) -> TestedChange:
    found = [one for one in archive.evidence(change) if one.session != itself]
    told = [one for one in reversed(found) if one.matches]
    return TestedChange(
        change=change.written,
        sessions=tuple(
            TestedIn(session=one.session, revision=one.revision, day=one.day, title=one.title, folder=one.folder,
                     says=_gave(one)) for one in told
        ),
        without=len(found) - len(told),
    )  # fmt: skip


def _gave(one: KeptEvidence) -> str:
    """What the change gave over all speeds, by the doubt of the session itself and at its own standard."""
    effects = [kept_effect(one.evidence, *way) for way in one.matches]
    effect = min(effects, key=lambda effect: float(np.nanmean(effect.percent()[1])))
    for low, high in usual_windows([effect])[:1]:
        mean = effect.over(low, high, "%")
        if mean is not None:
            return f"From {rpm_range(low, high)} it gave {stated(own_interval(*mean), '%')}."
    return _UNSAID


def recollection_json(found: Recollection) -> dict[str, Any]:
    """Recollection as plain data.

    Parameters
    ----------
    found : Recollection
        What the archive says.
    """
    recalled = found.recalled
    return {
        "remembered": None if recalled is None else {**asdict(recalled), "as_it_stands": not recalled.changed},
        "changes": [asdict(change) for change in found.changes],
    }
