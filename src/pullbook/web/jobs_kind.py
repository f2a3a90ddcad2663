"""Kind: how one kind of long work is done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["Kind"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of work.

    Attributes
    ----------
    run : callable
        Takes the progress and the arguments of the task by name, gives names and bytes of files.
    urgent : bool
        Whether somebody waits for it before the page; work that is not urgent waits for all that is, and leaves one
        worker free.
    split : str
        Argument, a list, that is divided among the workers; the files that the parts give are JSON lists and are
        joined in order. Empty where the work is one piece.
    """

    run: Callable[..., Mapping[str, bytes]]
    urgent: bool = True
    split: str = ""
