"""Sessions that are looked at on the way: how often they claim what is false, and how many pulls they need."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from plan_cases import BELIEF, COSTS, SPAN, order_of, plain_builds

from pullbook.compare.claims import decide_claims
from pullbook.compare.drawn import drawn_curves
from pullbook.compare.joint import draw_jointly
from pullbook.curves.spending import look_levels, spent
from pullbook.plan.costs import timetable
from pullbook.plan.simulated_session import PlannedPulls, simulate_pulls
from pullbook.records.comparison import ComparablePull, Comparison
from pullbook.records.declaration import Claim, Quantity
from pullbook.records.pull import TorqueKind
from pullbook.records.verdict import Verdict

DAY = replace(COSTS, warm_up=0.0, cool_down=0.0, together=0.0)
if TYPE_CHECKING:
    from collections.abc import Iterator

ORDER = "ABBAABBAABBAABBA"
LOOKS = (6, 8, 10, 12, 14, 16)
FIXED = (12, 14)
"""Pulls of plans that are looked at once, on both sides of the same power."""
TRUE = (-1.0,)
SESSIONS, SEED = 1000, 3
"""Sessions of each row of the full study."""
HEAD = (
    "| plan | truth below the claim by | sessions | supported, % | pulls on average |\n| --- | --- | --- | --- | --- |"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What sessions of one plan gave.

    Attributes
    ----------
    supported : (n,) array of bool
        The claim was supported at one of the looks.
    pulls : (n,) array of int
        Pulls when that session ended. [1]
    """

    supported: np.ndarray
    pulls: np.ndarray


@cache
def confidences(looks: tuple[int, ...]) -> tuple[float, ...]:
    """Confidence of the comparison at each look of a session with one claim. [1]."""
    levels = look_levels(looks, [spent(look / looks[-1], 0.025) for look in looks])
    return tuple(1.0 - 2.0 * level for level in levels)


def run_sessions(count: int, off: float, looks: tuple[int, ...], seed: int, *, spending: bool = True) -> Seen:
    """Sessions with the claim that B gains at least so much over the whole range, where builds are alike.

    Parameters
    ----------
    count : int
        Sessions. [1]
    off : float
        By how much the truth is below the claim; negative where the claim is true. [%]
    looks : tuple of int
        Pulls at each look, the last one at the end. [1]
    seed : int
        Of the sessions.
    spending : bool
        Looks share the error rate; else each has all of it, as a tester has who does not count.
    """
    claim = Claim(
        id="B", says="", of="B", from_="A", quantity=Quantity.TORQUE, where=SPAN, at_least=0.01 * off, in_percent=True
    )  # fmt: skip
    levels = confidences(looks) if spending else (0.95,) * len(looks)
    supported, pulls = np.zeros(count, dtype=bool), np.zeros(count, dtype=np.intp)
    for number, child in enumerate(np.random.SeedSequence((seed, len(looks), looks[-1])).spawn(count)):
        every = simulate_pulls(_planned(looks[-1]), BELIEF, np.random.default_rng(child))
        for look, confidence in zip(looks, levels, strict=True):
            verdict = _verdict(every[:look], claim, confidence)
            pulls[number], supported[number] = look, verdict is Verdict.SUPPORTED
            if verdict is not Verdict.UNDETERMINED:
                break
    return Seen(supported=supported, pulls=pulls)


def _verdict(pulls: tuple[ComparablePull, ...], claim: Claim, confidence: float) -> Verdict:
    comparison = Comparison(
        pulls=pulls, builds=plain_builds(2), baseline="A", claims=(claim,), rpm_range=SPAN,
        torque_kind=TorqueKind.MEASURED, draws=1000, confidence=confidence,
    )  # fmt: skip
    curves = drawn_curves(draw_jointly(comparison), "A", TorqueKind.MEASURED, confidence)
    return decide_claims((claim,), curves, None, [])[0].verdict


@cache
def _planned(pulls: int) -> PlannedPulls:
    order = order_of(ORDER[:pulls])
    cell, fitting, hours = timetable(plain_builds(2), DAY).pulls(order)
    return PlannedPulls(builds=tuple("AB"[n] for n in cell.tolist()), fitting=fitting, hours=hours, span=SPAN)


def row(name: str, off: float, seen: Seen) -> str:
    """Row of the table, with standard errors."""
    share, count = float(seen.supported.mean()), seen.pulls.size
    error = 100.0 * np.sqrt(share * (1.0 - share) / count)
    return f"| {name} | {off:+g} % | {count:,} | {100.0 * share:.1f} ± {error:.1f} | {seen.pulls.mean():.1f} |"


def table(count: int) -> Iterator[str]:
    """All rows, as they come."""
    each = f"{len(LOOKS)} looks, at most {LOOKS[-1]} pulls"
    yield HEAD
    yield row(each, 0.0, run_sessions(count, 0.0, LOOKS, SEED))
    for off in TRUE:
        yield row(each, off, run_sessions(count, off, LOOKS, SEED))
        for pulls in FIXED:
            yield row(f"{pulls} pulls, one look", off, run_sessions(count, off, (pulls,), SEED))
    yield row(f"{each}, each at 5 %", 0.0, run_sessions(count, 0.0, LOOKS, SEED, spending=False))


if __name__ == "__main__":
    for line in table(int(sys.argv[1]) if len(sys.argv) > 1 else SESSIONS):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()
