"""The demo session in the served folder, one click away."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.app.folder import write_folder
from pullbook.app.sessions import FILE
from pullbook.wiring import demo_bench

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["write_demo"]

_NAME: Final = "pullbook-demo"


def write_demo(root: Path) -> str:
    """Write the demo session into a folder; one that is there stays as it is. Gives its name below the folder.

    Raises
    ------
    FailureError
        If the folder cannot be written to.
    """
    goal = root / _NAME
    if not (goal / FILE).is_file():
        write_folder(goal, demo_bench().demo_session().items(), replace=True)
    return _NAME
