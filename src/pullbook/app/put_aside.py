"""A file that was sent by mistake is put aside: out of the session, but not out of the world."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.app.column_rules import is_in_run_order
from pullbook.app.edit_session import open_draft
from pullbook.app.folder import inside
from pullbook.app.session_files import list_files
from pullbook.app.stored_name import free_name
from pullbook.app.upload_scratch import move_to
from pullbook.app.write_session import one_writer
from pullbook.errors import FailureError, InputError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["put_aside"]

_ASIDE: Final = ".pullbook/removed"


def put_aside(folder: Path, name: str) -> str:
    """Move a file of the ``pulls`` folder to where no list shows it.

    Parameters
    ----------
    folder : Path
        The session folder.
    name : str
        The file, as the session names it.

    Returns
    -------
    str
        Where it lies now, relative to the folder.

    Raises
    ------
    InputError
        If there is no such file, or pulls of it are in the run order.
    FailureError
        If it cannot be moved, or the session file is being written all the time; it is where it was.
    """
    with one_writer(folder):  # nobody puts it into the run order meanwhile
        _demand_loose(folder, name)
        return _moved(folder, name)


def _demand_loose(folder: Path, name: str) -> None:
    if name not in list_files(folder):
        raise InputError("the session has no such file", where="file", value=name[:80], remedy="reload the page")
    draft = open_draft(folder)
    if draft.problems and not draft.values:
        raise InputError(
            "nobody can say whether pulls of this file are in the run order", where=draft.problems[0].where, value=name,
            remedy=draft.problems[0].coded or draft.problems[0].remedy,
        )  # fmt: skip
    if is_in_run_order(draft.values, name):
        raise InputError(
            "pulls of this file are in the run order", where="file", value=name,
            remedy="take them out of the run order first",
        )  # fmt: skip


def _moved(folder: Path, name: str) -> str:
    """Name of the file where it lies now; that of none is taken."""
    try:
        aside = inside(folder, _ASIDE)
        aside.mkdir(parents=True, exist_ok=True)
        taken = {path.name.lower() for path in aside.iterdir()}
        goal = free_name(name.rpartition("/")[2], taken)
        if not move_to(inside(folder, name), aside / goal):
            raise FileExistsError(goal)
    except OSError as error:
        raise FailureError(
            f"the file cannot be put aside ({error.strerror or error})", where=name,
            remedy="check the permissions and the disk; it is where it was",
        ) from error  # fmt: skip
    return f"{_ASIDE}/{goal}"
