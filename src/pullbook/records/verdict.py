"""Verdict, ClaimFinding, Refusal: what the session says about a claim, and what it cannot say."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "ClaimFinding",
    "Refusal",
    "Verdict",
]


class Verdict(StrEnum):
    """What the session says about a claim."""

    SUPPORTED = "supported"
    REFUTED = "refuted"
    UNDETERMINED = "undetermined"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimFinding:
    """Verdict on a claim.

    Attributes
    ----------
    id : str
        As in the session.
    verdict : Verdict
        Supported, refuted or undetermined, after Holm over the claims of the session.
    estimate, low, high : float
        What the claim is about, two-sided interval of the single claim. For "within" over a range: the gain where it
        is farthest from zero, and the hull of the pointwise intervals of both one-sided tests. [as `unit`, SI]
    unit : str
        "N m", "W" or "%".
    p_false, p_true : float
        Probability of data at least this much for it if the claim were false, and against it if it were true. [1]
    why : str
        One sentence.
    needs : str
        What would decide it; empty when decided.
    """

    id: str
    verdict: Verdict
    estimate: float
    low: float
    high: float
    unit: str
    p_false: float
    p_true: float
    why: str
    needs: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A question that the data cannot answer.

    Attributes
    ----------
    what : str
        The question, as in "B - A".
    why : str
        One sentence.
    """

    what: str
    why: str
