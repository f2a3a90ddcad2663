"""How often bands held on this bench: the baseline against itself, over all sessions that fitted it twice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.curves.binomial import share_interval
from pullbook.errors import InputError

if TYPE_CHECKING:
    from pullbook.app.ports import Archive

__all__ = ["Honesty", "Outside", "honest_bands"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """A session whose band did not contain zero.

    Attributes
    ----------
    session, title, folder : str
        The session.
    worst : float
        Largest distance from zero over the half-width of the band. [1]
    """

    session: str
    title: str
    folder: str
    worst: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Honesty:
    """How often bands held.

    Attributes
    ----------
    sessions, held : int
        Sessions that fitted the baseline twice, and those whose band contained zero at every speed.
    low, high : float
        95 % interval of the share that holds in the long run. [1]
    windows, windows_held : int
        Intervals of mean gains, and those that contained zero.
    without : int
        Sessions that cannot say.
    outside : tuple of Outside
        Those that did not hold.
    """

    sessions: int
    held: int
    low: float
    high: float
    windows: int
    windows_held: int
    without: int
    outside: tuple[Outside, ...]


def honest_bands(archive: Archive) -> Honesty:
    """Look over all sessions of an archive that are not excluded.

    Parameters
    ----------
    archive : Archive
        Where they are.

    Raises
    ------
    InputError
        If none of them fitted the baseline twice.
    """
    kept = archive.evidence(None)
    told = [(one, one.evidence["itself"]) for one in kept if one.evidence and one.evidence["itself"] is not None]
    if not told:
        raise InputError("no session in the archive fitted its baseline twice", where="--honest",
                         remedy="run the baseline again after the other builds, and remember that")  # fmt: skip
    held = sum(bool(itself["held"]) for _, itself in told)
    low, high = share_interval(held, len(told))
    return Honesty(
        sessions=len(told), held=held, low=low, high=high,
        windows=sum(int(itself["windows"]) for _, itself in told),
        windows_held=sum(int(itself["windows_held"]) for _, itself in told),
        without=len(kept) - len(told),
        outside=tuple(
            Outside(session=one.session, title=one.title, folder=one.folder, worst=float(itself["worst"]))
            for one, itself in told if not itself["held"]
        ),
    )  # fmt: skip
