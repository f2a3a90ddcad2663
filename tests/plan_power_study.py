"""Planned odds against the share of simulated sessions that the comparison answers, for five designs."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
from plan_cases import BELIEF, COSTS, SPAN, order_of, plain_builds, target

from pullbook.app.ports import Silent
from pullbook.app.rehearse_plan import Rehearsal, rehearse_plan
from pullbook.compare.prior import DEFAULT_PRIOR, SPREAD_ALLOWANCE
from pullbook.plan.costs import timetable
from pullbook.plan.odds import Judge, drawn_odds
from pullbook.plan.score import question_of
from pullbook.records.build import Engine
from pullbook.records.declaration import Claim, Quantity, Standard
from pullbook.records.plan import Ask, Offer, Plan, Step, Target, TargetOdds
from pullbook.records.session import Session

WINDOW = (2500.0, 3500.0)
DAY = replace(COSTS, warm_up=0.0, cool_down=0.0, together=0.0)
SESSIONS, DRAWN = 4000, 8000
"""Sessions simulated for each design of the full study, and drawn for its plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One order, and what is asked of it."""

    order: str
    targets: tuple[Target, ...]


def gain(percent: float, window: tuple[float, float] | None = None) -> Target:
    """Gain of B on A."""
    return target("B", "A", percent, window)


DESIGNS = (
    Design(order="AAABBB", targets=(*(gain(size) for size in (2.0, 2.5, 3.0, 4.0)), gain(2.5, WINDOW))),
    Design(
        order="AAABBBAAA",
        targets=(*(gain(size) for size in (1.5, 2.0, 3.0)), *(gain(size, WINDOW) for size in (1.5, 2.0))),
    ),
    Design(
        order="ABABAB",
        targets=(*(gain(size) for size in (1.2, 1.8, 2.5)), *(gain(size, WINDOW) for size in (1.5, 2.2))),
    ),
    Design(
        order="AABBAABB",
        targets=(*(gain(size) for size in (1.2, 1.8, 2.5)), *(gain(size, WINDOW) for size in (1.4, 2.0))),
    ),
    Design(
        order="AABBCCAABBCC",
        targets=(
            gain(1.5),
            target("B", "A", 1.6, WINDOW, Ask.CLAIM),
            target("C", "A", 1.6, (5000.0, 6000.0), Ask.CLAIM),
            target("B", "A", 3.2, WINDOW, Ask.WITHIN),
        ),
    ),
)
HEAD = "| order | question | planned, % | seen, % | seen less planned |\n| --- | --- | --- | --- | --- |"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Odds of one question, and the share that was seen. [%]"""

    order: str
    asked: str
    planned: float
    seen: float
    error: float
    """Standard error of the difference, of both sides."""

    def row(self) -> str:
        """Row of the table."""
        away = f"{self.seen - self.planned:+.1f} ± {self.error:.1f}"
        return f"| {self.order} | {self.asked} | {self.planned:.1f} | {self.seen:.1f} | {away} |"


def planned_odds(design: Design, sessions: int) -> tuple[float, ...]:
    """Odds that the planner gives. [1]."""
    builds = plain_builds(len(set(design.order)))
    question = question_of(design.targets, [build.name for build in builds], SPAN, BELIEF)
    judge = Judge(prior=DEFAULT_PRIOR, allowance=SPREAD_ALLOWANCE, sessions=sessions)
    order = order_of(design.order)
    return tuple(drawn_odds(order, timetable(builds, DAY), design.targets, question, BELIEF, judge).odds.tolist())


def seen_share(design: Design, sessions: int, seed: int = 5) -> tuple[float, ...]:
    """Share of simulated sessions that the comparison answers. [1]."""
    plan, session = _plan(design)
    rehearsed = rehearse_plan(plan, session, Rehearsal(sessions=sessions, workers=1, seed=seed), Silent())
    return rehearsed.offers[0].rehearsed


def compared(design: Design, sessions: int, drawn: int) -> list[Held]:
    """Every question of a design."""
    both = zip(design.targets, planned_odds(design, drawn), seen_share(design, sessions), strict=True)
    return [
        Held(
            order=design.order,
            asked=_asked(one),
            planned=100.0 * odds,
            seen=100.0 * share,
            error=100.0 * float(np.sqrt(odds * (1.0 - odds) * (1.0 / sessions + 1.0 / drawn))),
        )
        for one, odds, share in both
    ]


def _asked(one: Target) -> str:
    where = "whole range" if one.window is None else f"{one.window[0]:.0f} to {one.window[1]:.0f} rpm"
    words = {Ask.CLEAR: "gain", Ask.CLAIM: "claim, truth off by", Ask.WITHIN: "no difference within"}
    return f"{words[one.ask]} {one.percent:g} %, {where}"


def _plan(design: Design) -> tuple[Plan, Session]:
    builds = plain_builds(len(set(design.order)))
    order = order_of(design.order)
    _, fitting, hours = timetable(builds, DAY).pulls(order)
    steps = tuple(
        Step(
            build=name, fitting=n + 1, pulls=len(list(pulls)), changed=(), start=3600.0 * float(hours[fitting == n][0])
        )
        for n, (name, pulls) in enumerate(groupby(design.order))
    )
    unknown = tuple(
        TargetOdds(target=one.name, odds=0.5, detectable=1.0, detectable_size=1.0, floor=0.0) for one in design.targets
    )
    offer = Offer(name="surest", steps=steps, seconds=1.0, targets=unknown, wanted=len(unknown), confounded=())
    plan = Plan(
        title="study", within=1.0, aim=0.8, span=SPAN, targets=design.targets, offers=(offer,), costs=DAY,
        belief=BELIEF, assumptions=(), not_estimable=(), unanswered=(),
    )  # fmt: skip
    claims = tuple(
        Claim(
            id=one.name, says="", of=one.contrast[0][0], from_=one.contrast[1][0], quantity=Quantity.TORQUE,
            where=one.window, at_least=0.0,
        )
        for one in design.targets
        if one.ask is not Ask.CLEAR
    )  # fmt: skip
    session = Session(title="study", standard=Standard.NONE, engine=Engine(), builds=builds, pulls=(), claims=claims)
    return plan, session


if __name__ == "__main__":
    sys.stdout.write(HEAD + "\n")
    for one in DESIGNS:
        sys.stdout.write("\n".join(held.row() for held in compared(one, SESSIONS, DRAWN)) + "\n")
        sys.stdout.flush()
