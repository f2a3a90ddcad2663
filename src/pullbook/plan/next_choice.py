"""What could be done next in a session that is under way, and how probably it decides what is open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from pullbook.plan.costs import timetable
from pullbook.plan.odds import drawn_doubt
from pullbook.plan.score import question_of
from pullbook.records.outlook import Choice, State
from pullbook.records.plan import Ask

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.plan.odds import Doubt, Judge
    from pullbook.records.build import Build
    from pullbook.records.outlook import Standing
    from pullbook.records.plan import Target
    from pullbook.records.plan_terms import Costs, ScatterBelief

__all__ = ["Bench", "Steps", "decision_odds", "next_choices"]

Steps: TypeAlias = tuple[tuple[str, int], ...]
"""Fittings in turn, each as (name of the build, pulls made on it)."""
_NORMAL: Final = NormalDist()
_MOST: Final = 3  # pulls of one build that are looked at as one choice
_USUAL: Final = 1.959964


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bench:
    """What choices are judged by.

    Attributes
    ----------
    builds : tuple of Build
        All builds.
    costs : Costs
        What changes and pulls cost. [s]
    belief : ScatterBelief
        Scatter. [%]
    span : tuple of (float, float)
        Range of speed. [rpm]
    judge : Judge
        The comparison.
    claims : int
        Claims that share an error rate; 0 where there are none. [1]
    level_at : callable
        Level of a look after so many pulls. [1]
    step : callable
        Is told what is done and how far it is; may end the work by raising.
    """

    builds: tuple[Build, ...]
    costs: Costs
    belief: ScatterBelief
    span: tuple[float, float]
    judge: Judge
    claims: int
    level_at: Callable[[int], float]
    step: Callable[[str, int, int], None]


def next_choices(
    bench: Bench, made: Steps, rest: Steps, targets: Sequence[Target], standings: Sequence[Standing]
) -> tuple[Choice, ...]:
    """Choices, the one that takes the least time for its odds first.

    Parameters
    ----------
    bench : Bench
        Costs and scatter. [s, %]
    made : tuple of (str, int)
        Fittings so far. [1]
    rest : tuple of (str, int)
        Fittings of the run order that are still to come; no choice has more pulls than they have. [1]
    targets : sequence of Target
        What is open. [%]
    standings : sequence of Standing
        How each of them stands. [unit]

    Returns
    -------
    tuple of Choice
        None where no pull is left. [s, 1]
    """
    left = sum(count for _, count in rest)
    tried = _tried(bench, made, rest, targets, left)
    now = _doubt(bench, made, targets)
    found: list[Choice] = []
    for number, (steps, planned) in enumerate(tried.items()):
        bench.step("looking ahead", number, len(tried))
        then = _doubt(bench, _joined(made, steps), targets)
        level = bench.level_at(sum(count for _, count in (*made, *steps)))
        odds = tuple(
            _odds(standing, now[n], then[n], _quantile(bench, target, level))
            for n, (target, standing) in enumerate(zip(targets, standings, strict=True))
        )
        seconds, changes = _cost(bench, made, steps)
        found.append(Choice(steps=steps, changes=changes, seconds=seconds, odds=odds, planned=planned))
    return tuple(sorted(found, key=lambda one: (one.seconds / max(one.best, 1e-9), one.seconds)))


def decision_odds(room: float, doubt: float, now: tuple[float, float], then: tuple[float, float], at: float) -> float:
    """Probability that an open question is decided after more pulls, given what is known now. [1].

    The estimate moves by what its error loses; whatever the truth, within the doubt about it now.

    Parameters
    ----------
    room : float
        Estimate from what it has to be clear of. [unit]
    doubt : float
        Its standard deviation as intervals have it now. [unit]
    now, then : tuple of (float, float)
        Half-width of a 95 % interval and root mean square error that the order has, before and after. [%]
    at : float
        Standard deviations that the interval of the next look reaches. [1]

    Examples
    --------
    >>> round(decision_odds(1.0, 1.0, (1.96, 1.0), (0.98, 0.5), 2.0), 3)
    0.51
    """
    half = at * doubt * then[0] / now[0]
    error = doubt * now[1] / (now[0] / _USUAL)
    moves = error * float(np.sqrt(max(1.0 - (then[1] / now[1]) ** 2, 1e-6)))
    return _NORMAL.cdf((room - half) / moves) + _NORMAL.cdf((-room - half) / moves)


def _odds(standing: Standing, now: tuple[Doubt, int] | None, then: tuple[Doubt, int] | None, at: float) -> float:
    if then is None:
        return 0.0
    after, place = then
    if standing.state is State.UNMEASURED or now is None:
        return float(after.answered[place])
    before, was = now
    known = float(before.half_width[was]), float(before.miss[was])
    return decision_odds(
        standing.room, standing.doubt, known, (float(after.half_width[place]), float(after.miss[place])), at
    )


def _quantile(bench: Bench, target: Target, level: float) -> float:
    share = level / 2.0 if target.ask is Ask.CLEAR else level / max(bench.claims, 1)
    return _NORMAL.inv_cdf(1.0 - share)


def _doubt(bench: Bench, steps: Steps, targets: Sequence[Target]) -> list[tuple[Doubt, int] | None]:
    """Doubt of each target with its place; None where its builds have no pulls, or no pull is repeated."""
    there = {name for name, _ in steps}
    builds = tuple(build for build in bench.builds if build.name in there)
    asked = [target for target in targets if all(name in there for name, _ in target.contrast)]
    if not asked or sum(count for _, count in steps) <= len(builds):
        return [None] * len(targets)
    names = [build.name for build in builds]
    question = question_of(asked, names, bench.span, bench.belief)
    level = bench.level_at(sum(count for _, count in steps))
    levels = [1.0 - 2.0 * (1.0 - _NORMAL.cdf(_quantile(bench, target, level))) for target in asked]
    question = replace(question, levels=np.array(levels))
    order = tuple((names.index(name), count) for name, count in steps)
    found = drawn_doubt(order, timetable(builds, bench.costs), asked, question, bench.belief, bench.judge)
    return [(found, asked.index(target)) if target in asked else None for target in targets]


def _tried(bench: Bench, made: Steps, rest: Steps, targets: Sequence[Target], left: int) -> dict[Steps, bool]:
    """Steps to look at, and whether they are those of the run order."""
    tried: dict[Steps, bool] = {rest[:n]: True for n in range(1, len(rest) + 1)}
    wanted = [build.name for build in bench.builds if any(build.name in dict(one.contrast) for one in targets)]
    for name in wanted:
        for count in range(1, min(_MOST, left) + 1):
            tried.setdefault(((name, count),), False)
    on_bench = made[-1][0] if made else ""
    for name in wanted:
        for count in range(1, min(_MOST - 1, left // 2) + 1):
            if on_bench in wanted and name != on_bench:
                tried.setdefault(((name, count), (on_bench, count)), False)
    return tried


def _joined(made: Steps, steps: Steps) -> Steps:
    """All fittings; pulls of the build that is on the bench are made on the same fitting."""
    if made and steps and made[-1][0] == steps[0][0]:
        return (*made[:-1], (made[-1][0], made[-1][1] + steps[0][1]), *steps[1:])
    return (*made, *steps)


def _cost(bench: Bench, made: Steps, steps: Steps) -> tuple[float, int]:
    times = timetable(bench.builds, bench.costs)
    names = [build.name for build in bench.builds]
    path = [names.index(name) for name, _ in (*made[-1:], *steps)]
    between = [float(times.between[one, other]) for one, other in pairwise(path)]
    pulls = times.pull * sum(count for _, count in steps)
    return (0.0 if made else times.first) + sum(between) + pulls, sum(one != other for one, other in pairwise(path))
