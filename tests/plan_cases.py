"""Builds, costs and targets that tests of the planner share, and orders as text."""

from __future__ import annotations

from itertools import groupby, product
from typing import TYPE_CHECKING

from pullbook.plan.costs import timetable
from pullbook.plan.score import Score, question_of
from pullbook.records.build import Build
from pullbook.records.plan import Ask, Target
from pullbook.records.plan_terms import Costs, ScatterBelief

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.plan.costs import Order

SPAN = (2000.0, 6500.0)
BELIEF = ScatterBelief(source="for a test")
COSTS = Costs(
    pull=360.0, warm_up=600.0, cool_down=300.0, together=600.0, day=28_800.0,
    change={"cam": 9000.0, "runners": 3000.0, "header": 2400.0}, any_change=2400.0,
)  # fmt: skip
PLAIN = """\
[session]
title = "Runners"
standard = "SAE J1349"
received = "observed"
rpm = "2000..6500 rpm"

[[factor]]
name = "runners"
levels = ["340 mm", "260 mm"]
change = "50 min"

[[build]]
name = "A"
baseline = true
levels = { runners = "340 mm" }

[[build]]
name = "B"
levels = { runners = "260 mm" }
"""


def plain_builds(count: int) -> tuple[Build, ...]:
    """Builds without factors, A the baseline."""
    return tuple(Build(name="ABCDEFGH"[n], baseline=n == 0, levels={}) for n in range(count))


def factorial(*levels: int) -> tuple[Build, ...]:
    """All combinations of levels of cam, runners and header."""
    cells = product(*(range(count) for count in levels))
    names = ("cam", "runners", "header")[: len(levels)]
    return tuple(
        Build(name=f"B{n}", baseline=n == 0, levels={name: str(level) for name, level in zip(names, cell, strict=True)})
        for n, cell in enumerate(cells)
    )


def target(
    of: str, from_: str, percent: float, window: tuple[float, float] | None = None, ask: Ask = Ask.CLEAR
) -> Target:
    """A difference that has to be told. [%]."""
    return Target(
        name=f"{of} - {from_}, {ask}", says="", ask=ask, contrast=((of, 1.0), (from_, -1.0)), window=window,
        percent=percent, size=percent, unit="%",
    )  # fmt: skip


def order_of(text: str) -> Order:
    """Order of builds in fittings, as in 'AAABBB'."""
    names = sorted(set(text))
    return tuple((names.index(build), len(list(pulls))) for build, pulls in groupby(text))


def score_of(builds: Sequence[Build], targets: Sequence[Target], costs: Costs = COSTS) -> Score:
    """Score of orders of these builds."""
    question = question_of(targets, [build.name for build in builds], SPAN, BELIEF)
    return Score(times=timetable(builds, costs), question=question, belief=BELIEF)
