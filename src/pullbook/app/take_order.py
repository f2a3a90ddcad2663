"""take: an order of a plan -> the run order of the session that was planned, written into its own ``session.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.app.edit_session import open_draft
from pullbook.app.folder import folder_of, inside
from pullbook.app.plan_content import pulls_there
from pullbook.app.write_session import one_writer, write_session_text
from pullbook.capture.session_draft import read_draft
from pullbook.capture.session_planned import planned_text
from pullbook.errors import ConflictError, InputError, RefusalError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from pullbook.capture.session_planned import PlannedEntry
    from pullbook.records.draft import Draft

__all__ = ["take_order"]


def take_order(folder: Path, entries: Sequence[PlannedEntry], *, revision: str) -> Draft:
    """Put the pulls of an order in place of the run order of a session, of which no pull has been made.

    Parameters
    ----------
    folder : Path
        The session folder.
    entries : sequence of PlannedEntry
        The pulls, in their order.
    revision : str
        Revision of the text that was planned.

    Returns
    -------
    Draft
        The file as it stands now.

    Raises
    ------
    RefusalError
        If pulls were made already; the file is as it was.
    InputError
        If a file that is there has the name of one that is planned, or the session file is wrong; it is as it was.
    ConflictError
        If the file has changed meanwhile; it is as it was.
    FailureError
        If the file cannot be written; it is as it was.
    """
    from pullbook.capture.session_edit_sound import demand_no_worse

    with one_writer(folder):
        before = open_draft(folder)
        if pulls_there(folder, before.values)[0]:
            raise RefusalError(
                "pulls of this session were made already, and an order would take their lines out", where="pull",
                remedy="begin a new session for another order",
            )  # fmt: skip
        text = planned_text(before.text, entries)
        if text == before.text:
            return before
        if revision != before.revision:
            raise ConflictError(
                "the session was changed meanwhile", where="session.toml", remedy="plan again, then take an order",
                yours=text, theirs=before.text,
            )  # fmt: skip
        for entry in entries:
            if inside(folder_of(folder), entry.file).exists():
                raise InputError(
                    "a file that is there has the name of a planned pull", where=entry.file,
                    remedy="put it aside, or give it another name",
                )  # fmt: skip
        after = read_draft(text)
        demand_no_worse(before, after)
        write_session_text(folder, text, before=before.text)
        return after
