"""Planned odds against the share of simulated sessions that the comparison answers, for five designs."""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One order, and what is asked of it."""

    order: str
    targets: tuple[Target, ...]


DESIGNS = (
    Design(order="AAABBB", targets=(target("B", "A", 3.0), target("B", "A", 4.0))),
    Design(order="AAABBBAAA", targets=(target("B", "A", 2.0), target("B", "A", 2.0, WINDOW))),
    Design(order="ABABAB", targets=(target("B", "A", 1.8), target("B", "A", 2.2, WINDOW))),
    Design(order="AABBAABB", targets=(target("B", "A", 1.8), target("B", "A", 2.0, WINDOW))),
    Design(
        order="AABBCCAABBCC",
        targets=(
            target("B", "A", 1.6, WINDOW, Ask.CLAIM),
            target("C", "A", 1.6, (5000.0, 6000.0), Ask.CLAIM),
            target("B", "A", 3.2, WINDOW, Ask.WITHIN),
        ),
    ),
)
HEAD = "| order | question | planned, % | seen in sessions put through the comparison, % |\n| --- | --- | --- | --- |"


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


def rows(design: Design, sessions: int, workers: int) -> list[str]:
    """Rows of the table, with standard errors."""
    each = sessions // (10 * workers) * 10
    with ProcessPoolExecutor(workers) as pool:
        parts = list(pool.map(partial(seen_share, design, each), range(workers)))
    seen = np.mean(parts, axis=0)
    return [
        f"| {design.order} | {_asked(one)} | {100 * odds:.1f} | {100 * share:.1f} ± "
        f"{100 * np.sqrt(share * (1 - share) / (each * workers)):.1f} |"
        for one, odds, share in zip(design.targets, planned_odds(design, sessions), seen, strict=True)
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
        sys.stdout.write("\n".join(rows(one, int(sys.argv[1]) if len(sys.argv) > 1 else 1000, 2)) + "\n")
        sys.stdout.flush()
