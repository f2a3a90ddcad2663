"""A file that was sent by mistake is put aside: out of the session, but not out of the world."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from pullbook.app.column_rules import is_in_run_order
from pullbook.app.folder import inside
from pullbook.app.session_files import list_files
from pullbook.app.stored_name import free_name
from pullbook.app.upload_scratch import move_to
from pullbook.errors import FailureError, InputError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["put_aside"]

_ASIDE: Final = ".pullbook/removed"


def put_aside(folder: Path, name: str, values: Mapping[str, Any]) -> str:
    """Move a file of the ``pulls`` folder to where no list shows it.

    Parameters
    ----------
    folder : Path
        The session folder.
    name : str
        The file, as the session names it.
    values : mapping
        The session file, as plain data; it may be unfinished.

    Returns
    -------
    str
        Where it lies now, relative to the folder.

    Raises
    ------
    InputError
        If there is no such file, or pulls of it are in the run order.
    FailureError
        If it cannot be moved; it is where it was.
    """
    if name not in list_files(folder):
        raise InputError("the session has no such file", where="file", value=name[:80], remedy="reload the page")
    if is_in_run_order(values, name):
        raise InputError(
            "pulls of this file are in the run order", where="file", value=name,
            remedy="take them out of the run order first",
        )  # fmt: skip
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
