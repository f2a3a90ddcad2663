"""remember: session folder -> archive, with its files, its pulls and what it showed."""

from __future__ import annotations

import hashlib
import math
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.checksums import demand_sums
from pullbook.app.compare_builds import compare_session
from pullbook.app.content_key import named_files
from pullbook.app.engine_files import find_engines
from pullbook.app.folder import folder_of, inside, read_bytes, read_session_bytes
from pullbook.app.load_session import load_session
from pullbook.app.prepare import prepare
from pullbook.app.question import Question
from pullbook.app.session_content import content_of, with_findings, with_pulls
from pullbook.app.session_evidence import session_evidence
from pullbook.errors import FailureError, RefusalError
from pullbook.records.archived import ChannelTable, SessionMemory, Signed
from pullbook.records.codec import findings_to_json
from pullbook.records.json_text import compact_json

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from pullbook.app.ports import Archive, Clock, Progress
    from pullbook.quantities.arrays import IntArray
    from pullbook.records.archive_answer import Remembered
    from pullbook.records.result import PullStatus, SessionResult
    from pullbook.records.session import Session

__all__ = ["archive_folder", "archive_key", "memory_of", "remember_session", "remembered_files", "signed_by"]

_FILE: Final = "session.toml"
_DIGITS: Final = 4  # behind the first one
_MANY: Final = 12  # numbers in a row that make a curve


def remember_session(
    folder: Path, archive: Archive, clock: Clock, progress: Progress
) -> tuple[Remembered, SessionMemory]:
    """Compare a session and put it into the archive.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    archive : Archive
        Where it goes.
    clock : Clock
        Tells when.
    progress : Progress
        Is told how far the work is.

    Returns
    -------
    tuple of (Remembered, SessionMemory)
        What the archive did, and with what.

    Raises
    ------
    InputError
        If the session or a file is wrong; the archive is as it was.
    FailureError
        If the archive cannot be written; it is as it was.
    """
    memory = memory_of(folder, progress)
    progress.step("remembering", 0, 1)
    done = archive.remember(memory, signed_by(clock))
    return done, memory  # without another step, which might end what is done


def signed_by(clock: Clock) -> Signed:
    """Who does something, and when: the user of this machine, or who ``PULLBOOK_USER`` names.

    Parameters
    ----------
    clock : Clock
        Tells when.
    """
    import getpass

    try:
        who = os.environ.get("PULLBOOK_USER") or getpass.getuser()
    except (OSError, KeyError, ImportError):  # a user without a name
        who = "unknown"
    return Signed(who=_storable(who), at=clock.now().strftime("%Y-%m-%dT%H:%M:%SZ"))


def memory_of(folder: Path, progress: Progress) -> SessionMemory:
    """Session as the archive takes it.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    progress : Progress
        Is told how far the work is.

    Raises
    ------
    InputError
        If the session or a file is wrong.
    """
    root = folder_of(folder)
    text = read_session_bytes(folder)
    files = {name: bytes(read_bytes(inside(root, name), name)) for name in remembered_files(root, text)}
    files[_FILE] = text  # the one that names the others
    demand_sums(root, files)
    told = _compared(folder, progress)
    hashes = {name: (hashlib.sha256(content).hexdigest(), len(content)) for name, content in files.items()}
    _demand_unchanged(told, hashes, same_text=read_session_bytes(folder) == files[_FILE])
    content = content_of(told.session, folder=archive_folder(root), files=hashes)
    content = with_pulls(content, told.pulls)
    if told.result is not None:
        content = with_findings(content, told.result)
    else:
        content["headline"] = told.why
    findings = compact_json(_shortened(findings_to_json(told.result))) if told.result else b""
    scatter, evidence = session_evidence(told.result) if told.result is not None else (b"", b"")
    return SessionMemory(
        key=archive_key({name: sha256 for name, (sha256, _) in hashes.items()}), content=content, files=files,
        findings=findings, channels=tuple(_channels(told.pulls)), scatter=scatter, evidence=evidence,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Told:
    """What was declared and measured, and the result, or why there is none."""

    session: Session
    pulls: tuple[PullStatus, ...]
    result: SessionResult | None
    why: str


def _compared(folder: Path, progress: Progress) -> _Told:
    """Result of a session; its pulls alone where the data cannot answer."""
    try:
        result = compare_session(folder, Question(without_bands=True), progress)
    except RefusalError as refusal:
        loaded = load_session(folder, progress)
        return _Told(session=loaded.session, pulls=prepare(loaded, progress).statuses, result=None,
                     why=f"No findings: {refusal.what}.")  # fmt: skip
    return _Told(session=result.session, pulls=result.pulls, result=result, why="")


def remembered_files(folder: Path, text: bytes) -> tuple[str, ...]:
    """Files of a session that are remembered: its session file, the engine files, and those that the first names.

    Parameters
    ----------
    folder : Path
        The session folder.
    text : bytes
        Its session file.
    """
    return tuple(dict.fromkeys((_FILE, *(engine.name for engine in find_engines(folder)), *named_files(text))))


def archive_key(hashes: Mapping[str, str]) -> str:
    """Name of the content of a session in every archive.

    Parameters
    ----------
    hashes : mapping of str to str
        Hash of each file, by its name.
    """
    digest = hashlib.sha256()
    for name in sorted(hashes):
        data = name.encode("utf-8", "surrogatepass")
        digest.update(len(data).to_bytes(8, "big") + data + bytes.fromhex(hashes[name]))
    return digest.hexdigest()


def _demand_unchanged(told: _Told, hashes: Mapping[str, tuple[str, int]], *, same_text: bool) -> None:
    """Refuse findings of other bytes than those that would be kept."""
    sources = {status.pull.source.name: status.pull.source.sha256 for status in told.pulls}
    if not same_text or any(hashes[name][0] != sha256 for name, sha256 in sources.items()):
        raise FailureError("files of the session changed while it was compared", where=told.session.title,
                           remedy="remember it again; nothing was changed")  # fmt: skip


def _channels(pulls: Sequence[PullStatus]) -> list[ChannelTable]:
    """Channels of each pull as captured."""
    return [
        ChannelTable(
            pull=status.pull.name,
            channels={str(channel): values for channel, values in status.pull.channels.items()},
            file=status.pull.source.name,
            first_line=_first_line(status.pull.rows),
        )
        for status in pulls
    ]


def _first_line(rows: IntArray) -> int:
    """First of lines that follow each other; 0 where some are left out."""
    return int(rows[0]) if rows.size and int(rows[-1] - rows[0]) == rows.size - 1 else 0


def _shortened(content: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
    """JSON in which curves are rounded to five digits of their largest value, far finer than any band."""
    if isinstance(content, dict):
        return {key: _shortened(value) for key, value in content.items()}
    if isinstance(content, list):
        if len(content) >= _MANY and all(value is None or isinstance(value, float) for value in content):
            largest = max((abs(value) for value in content if value is not None), default=0.0)
            places = _DIGITS - math.floor(math.log10(largest)) if largest > 0.0 else 0
            return [None if value is None else round(value, places) + 0.0 for value in content]
        return [_shortened(value) for value in content]
    return content


def archive_folder(folder: Path) -> str:
    """Place of a session folder as an archive has it.

    Parameters
    ----------
    folder : Path
        The session folder.
    """
    return _storable(os.path.realpath(folder))


def _storable(text: str) -> str:
    """Text that every database takes: without zero bytes and half characters."""
    return text.encode("utf-8", "replace").decode().replace("\0", "?")
