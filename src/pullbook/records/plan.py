"""Plan: which builds in which order, what it costs, and the odds of an answer, before a bolt is turned."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.records.plan_terms import Costs, ScatterBelief

__all__ = ["Ask", "Offer", "Plan", "Step", "Target", "TargetOdds", "Unanswered"]


class Ask(StrEnum):
    """What an answer to a target is."""

    CLEAR = "clear"
    """The interval of the gain is clear of zero."""
    CLAIM = "claim"
    """The claim is supported or refuted."""
    WITHIN = "within"
    """The claim that there is no difference that matters is supported."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One question that the session has to answer.

    Attributes
    ----------
    name : str
        Id of the claim, or the pair as in "B - A".
    says : str
        The question in words.
    ask : Ask
        What an answer is.
    contrast : tuple of (str, float)
        Weight of each build. [1]
    window : tuple of (float, float) or None
        Range that the gain is the mean of, or one speed twice; None for all of the range. [rpm]
    percent : float
        Size that has to be told: how far the truth is from zero, or from the number of the claim. [%]
    size : float
        The same. [N m or W; % where nothing says how large the torque is]
    unit : str
        Unit of `size`: "N m", "W" or "%".
    at_peak : bool
        The claim is about the peak, wherever it is; `window` is where it is taken to be.
    """

    name: str
    says: str
    ask: Ask
    contrast: tuple[tuple[str, float], ...]
    window: tuple[float, float] | None
    percent: float
    size: float
    unit: str
    at_peak: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One fitting of a build, and the pulls made on it.

    Attributes
    ----------
    build : str
        The build.
    fitting : int
        Number of the fitting, from 1.
    pulls : int
        Pulls. [1]
    changed : tuple of str
        Factors changed before it; empty at the start, the build where there are no factors.
    start : float
        When its first pull is made, from the start of the session. [s]
    """

    build: str
    fitting: int
    pulls: int
    changed: tuple[str, ...]
    start: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetOdds:
    """What an order can do for a target.

    Attributes
    ----------
    target : str
        Its name.
    odds : float
        Probability of an answer, if the truth is as far off as the target says. [1]
    detectable : float
        Smallest size that is answered with 80 % probability. [%]
    detectable_size : float
        The same in the unit of the target. [N m, W or %]
    floor : float
        What stays however many pulls are made on these fittings. [%]
    """

    target: str
    odds: float
    detectable: float
    detectable_size: float
    floor: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One order, its cost and its odds.

    Attributes
    ----------
    name : str
        "cheapest", "surest" or "in between"; several joined.
    steps : tuple of Step
        The run order.
    seconds : float
        What it takes, warm-up and all. [s]
    targets : tuple of TargetOdds
        In the order of the targets.
    wanted : int
        How many of them, from the first, have to be answered; the others are only told. [1]
    confounded : tuple of str
        What this order cannot tell apart, one sentence each.
    rehearsed : tuple of float
        Share of simulated sessions that answered each target; empty where none were simulated. [1]
    sessions : int
        How many were simulated. [1]
    """

    name: str
    steps: tuple[Step, ...]
    seconds: float
    targets: tuple[TargetOdds, ...]
    wanted: int
    confounded: tuple[str, ...]
    rehearsed: tuple[float, ...] = ()
    sessions: int = 0

    @property
    def odds(self) -> float:
        """Odds of the target that is hardest to answer. [1]."""
        return min(one.odds for one in self.targets[: self.wanted])

    @property
    def pulls(self) -> int:
        """Number of pulls. [1]."""
        return sum(step.pulls for step in self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Unanswered:
    """A target that no order answers in the time.

    Attributes
    ----------
    target : str
        Its name.
    smallest : float
        Smallest size that can be decided in the time. [unit of the target]
    seconds : float or None
        Time that would do; None where none does within what was searched. [s]
    searched : float
        Longest time that was searched. [s]
    """

    target: str
    smallest: float
    seconds: float | None
    searched: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Offers for a session.

    Attributes
    ----------
    title : str
        Of the session.
    within : float
        Time that the session may take. [s]
    aim : float
        Odds that count as able to answer. [1]
    span : tuple of (float, float)
        Range of speed that will be measured. [rpm]
    targets : tuple of Target
        What is to be answered.
    offers : tuple of Offer
        From the cheapest to the surest.
    costs : Costs
        What changes and pulls cost. [s]
    belief : ScatterBelief
        Scatter that the odds rest on. [%]
    assumptions : tuple of str
        What was taken because nobody stated it, one sentence each.
    not_estimable : tuple of str
        What no order of these builds can tell apart, one sentence each.
    unanswered : tuple of Unanswered
        Targets that no order answers in the time.
    """

    title: str
    within: float
    aim: float
    span: tuple[float, float]
    targets: tuple[Target, ...]
    offers: tuple[Offer, ...]
    costs: Costs
    belief: ScatterBelief
    assumptions: tuple[str, ...]
    not_estimable: tuple[str, ...]
    unanswered: tuple[Unanswered, ...]
