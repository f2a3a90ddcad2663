"""PullContext: a pull with its place in the session, as the checks across builds see it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.records.corrected import CorrectedPull
    from pullbook.records.pull import Pull

__all__ = ["PullContext"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullContext:
    """A pull and where it stands in the run order.

    Attributes
    ----------
    pull : Pull
        As measured.
    corrected : CorrectedPull
        At the session's standard.
    build : str
        Name of its build.
    fitting : int
        Number of the bolt-up, from 1.
    time : float
        From the first pull of the session. [s]
    used : bool
        Whether it is compared; pulls that are left out are not judged against the others.
    """

    pull: Pull
    corrected: CorrectedPull
    build: str
    fitting: int
    time: float
    used: bool = True
