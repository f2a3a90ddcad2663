"""Edit: one change of a session file."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

__all__ = ["ABSENT", "Absent", "Edit"]


class Absent(Enum):
    """The one value that says that nothing is given; None says that nothing was there."""

    ABSENT = "absent"


ABSENT: Final = Absent.ABSENT


@dataclass(frozen=True, slots=True)
class Edit:
    """One change of a session file.

    Attributes
    ----------
    do : str
        ``set`` a key to a value, of a table only what differs; ``unset`` a key; ``add`` an entry to a list (``build``),
        or before one (``build[2]``); ``remove`` an entry, a factor with the levels that builds name under it; ``move``
        an entry, `value` being its new number; ``rename`` a factor, level, build or claim with everything that refers
        to it, `value` being its new name.
    at : str
        Key path with entries counted from 1, as in ``pull[3].air.pressure``.
    value : object
        Text, number, truth value, list or mapping; dates as such or as ISO text.
    was : object
        What stood there when the edit was made, for noticing that somebody else has changed it; None for nothing.
        Not looked at where it is `ABSENT`, nor where an entry is added at the end of a list.
    """

    do: str
    at: str
    value: object = None
    was: object = ABSENT
