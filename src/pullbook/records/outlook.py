"""Outlook: what a session that is not finished has decided, and what would decide the rest soonest."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.records.plan import Target

__all__ = ["Choice", "Outlook", "Standing", "State"]


class State(StrEnum):
    """How a question stands."""

    DECIDED = "decided"
    OPEN = "open"
    UNMEASURED = "not measured"
    """Pulls are missing: nothing can be said yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One question of the session, and how it stands.

    Attributes
    ----------
    target : str
        Name of the target.
    state : State
        Decided, open or not measured.
    answer : str
        "supported", "refuted", "gain", "loss" or "no difference that matters"; empty where nothing is decided.
    value, low, high : float
        Estimate and interval; NaN where nothing is measured. [unit]
    unit : str
        "N m", "W" or "%".
    room : float
        Estimate from what it has to be clear of: above zero on the side of the claim. [unit]
    doubt : float
        Standard deviation of the estimate, as intervals would have it. [unit]
    """

    target: str
    state: State
    answer: str
    value: float
    low: float
    high: float
    unit: str
    room: float
    doubt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Something that could be done next.

    Attributes
    ----------
    steps : tuple of (str, int)
        Builds in turn, each with its pulls; the first may be the build that is on the bench. [1]
    changes : int
        How often parts are changed. [1]
    seconds : float
        What it takes. [s]
    odds : tuple of float
        Probability that each open question is decided by it, in the order of the outlook. [1]
    planned : bool
        It is what the run order says, as far as it goes.
    """

    steps: tuple[tuple[str, int], ...]
    changes: int
    seconds: float
    odds: tuple[float, ...]
    planned: bool

    @property
    def pulls(self) -> int:
        """Number of pulls. [1]."""
        return sum(count for _, count in self.steps)

    @property
    def best(self) -> float:
        """Odds of the question that it decides most probably. [1]."""
        return max(self.odds, default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """A session in the middle.

    Attributes
    ----------
    title : str
        Of the session.
    made, planned : int
        Pulls that were made, and that were planned at the first look. [1]
    looks : tuple of int
        Pulls at each look, this one included. [1]
    confidence : float
        Level at which this look is held. [1]
    targets : tuple of Target
        All questions.
    standings : tuple of Standing
        How each of them stands.
    choices : tuple of Choice
        What could be done next, the one that decides soonest for its odds first; empty where nothing is left to do.
    stop : str
        Why the session may end; empty where it goes on.
    assumptions : tuple of str
        What was taken because nobody stated it.
    """

    title: str
    made: int
    planned: int
    looks: tuple[int, ...]
    confidence: float
    targets: tuple[Target, ...]
    standings: tuple[Standing, ...]
    choices: tuple[Choice, ...]
    stop: str
    assumptions: tuple[str, ...]

    @property
    def open(self) -> tuple[Standing, ...]:
        """Questions that are not decided."""
        return tuple(one for one in self.standings if one.state is not State.DECIDED)
