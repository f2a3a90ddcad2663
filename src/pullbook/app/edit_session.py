"""The session file of a folder, opened as a draft and edited: by places, or as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.app.folder import read_session_bytes, session_text
from pullbook.app.write_session import former_text, keep_text, one_writer, write_session_text
from pullbook.capture.session_draft import read_draft
from pullbook.errors import ConflictError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from pullbook.capture.session_edit_record import Edit
    from pullbook.records.draft import Draft

__all__ = ["apply_edits", "open_draft", "replace_text"]

_FILE: Final = "session.toml"


def open_draft(folder: Path) -> Draft:
    """Session file of a folder as it stands, sound or not.

    Parameters
    ----------
    folder : Path
        The folder, or its ``session.toml``.

    Returns
    -------
    Draft
        Text, values and problems.

    Raises
    ------
    SessionFileError
        If the folder or the file is not there, or is not text in UTF-8.
    """
    return read_draft(session_text(read_session_bytes(folder)))


def apply_edits(folder: Path, edits: Sequence[Edit], *, revision: str = "") -> Draft:
    """Edit the session file of a folder: all of the edits, or none.

    An edit is refused where the place that it touches would be wrong afterwards, or where it would make anything else
    wrong. What is only not there yet does not stop an edit, except that a new entry has to have its own needed keys.

    Parameters
    ----------
    folder : Path
        The folder, or its ``session.toml``.
    edits : sequence of Edit
        What to change.
    revision : str
        Revision that the edits were made on; empty for whatever stands there.

    Returns
    -------
    Draft
        The file as it stands now.

    Raises
    ------
    InputError
        If the edits are refused; the file is as it was.
    ConflictError
        If somebody else has changed a place meanwhile; the file is as it was.
    FailureError
        If the file cannot be written; it is as it was.
    """
    from pullbook.capture.session_edit import edit_session
    from pullbook.capture.session_edit_sound import demand_sound
    from pullbook.capture.session_edit_stale import demand_same

    with one_writer(folder):
        before = open_draft(folder)
        if revision not in {"", before.revision}:
            demand_same(_values(former_text(folder, revision)), before.values, edits)
        text = edit_session(before.text, edits)
        after = read_draft(text)
        demand_sound(before, after, edits)
        if text != before.text:
            write_session_text(folder, text, before=before.text)
        return after


def _values(text: str | None) -> Mapping[str, object] | None:
    return None if text is None else read_draft(text).values


def replace_text(folder: Path, text: str, *, revision: str) -> Draft:
    """Put a whole text in place of the session file of a folder.

    As with edits, a text is refused that makes something wrong which was not; what was wrong before may stay so.

    Parameters
    ----------
    folder : Path
        The folder, or its ``session.toml``.
    text : str
        The new text; lines end as they do in the file.
    revision : str
        Revision that was being edited.

    Returns
    -------
    Draft
        The file as it stands now.

    Raises
    ------
    InputError
        If something is newly wrong in the text; the file is as it was.
    ConflictError
        If the file has changed meanwhile. It is as it was, and the text is kept in the folder under a name that the
        message says.
    FailureError
        If the file cannot be written; it is as it was.
    """
    from pullbook.capture.session_edit_places import demand_whole
    from pullbook.capture.session_edit_sound import demand_no_worse

    demand_whole(text)
    with one_writer(folder):
        before = open_draft(folder)
        text = _lines_like(before.text, text)
        if revision != before.revision and text != before.text:
            kept = keep_text(folder, text)
            raise ConflictError(
                f"somebody else has changed this file meanwhile; your text is kept in {kept}", where=_FILE,
                remedy="look at both and write what is to stand", yours=text, theirs=before.text,
            )  # fmt: skip
        after = read_draft(text)
        if before.values or not before.text.strip():  # a text that is no TOML may be mended step by step
            demand_no_worse(before, after)
        if text != before.text:
            write_session_text(folder, text, before=before.text)
        return after


def _lines_like(before: str, text: str) -> str:
    """Text as the file has it: a form of the browser ends its lines in one way or the other."""
    text = text.replace("\r\n", "\n")
    if "\r\n" in before:
        text = text.replace("\n", "\r\n")
    mark = "\ufeff"
    return mark + text if before.startswith(mark) and not text.startswith(mark) else text
