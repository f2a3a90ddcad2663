"""The day: first pulls, the return of the baseline, and pauses."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.student import t_quantile
from pullbook.records.check import Check, Level

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.context import PullContext
    from pullbook.records.session import Session

__all__ = ["check_baseline_return", "check_first_pulls", "check_pauses", "pull_levels"]

_STEP_RPM: Final = 50.0
# A good engine bench repeats itself within 0.5 % on one day (common practice, from memory). It counts as three degrees
# of freedom beside what the session itself shows, so that two pulls that agree by chance prove nothing. Measured in
# 1,000 simulated sessions of nine pulls: first pulls are looked at without cause in 4 % of sessions, and in 14 % on a
# bench that scatters twice as much.
_USUAL_SD, _USUAL_FREEDOM = 0.5, 3
_SURE: Final = 0.975
_LEAST_FIRST: Final = 0.5  # per cent
_LEAST_DRIFT, _LARGE_DRIFT = 0.4, 0.7  # per cent
_PAUSE: Final = 45.0 * 60.0  # s


def pull_levels(contexts: Sequence[PullContext], rpm_range: tuple[float, float] | None = None) -> FloatArray | None:
    """Level of each pull of one build against the mean curve of them all.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls of one build.
    rpm_range : tuple of (float, float) or None
        Range that is analysed. [rpm]

    Returns
    -------
    (n,) array of float or None
        Mean departure over the speeds that all share; None where they share none. [%]
    """
    speeds = [context.corrected.speed_rpm for context in contexts]
    if any(speed.size == 0 for speed in speeds):
        return None
    low, high = rpm_range or (-np.inf, np.inf)
    low, high = max(low, *(speed.min() for speed in speeds)), min(high, *(speed.max() for speed in speeds))
    if not low < high:
        return None
    grid = np.linspace(low, high, max(2, int((high - low) // _STEP_RPM) + 1))
    curves = np.stack([_on(grid, context) for context in contexts])
    mean = curves.mean(axis=0)
    large = np.abs(mean) > 0.05 * np.abs(mean).max()
    return np.asarray(100.0 * np.mean(curves[:, large] / mean[large] - 1.0, axis=1)) if large.any() else None


def _on(grid: FloatArray, context: PullContext) -> FloatArray:
    order = np.argsort(context.corrected.speed_rpm, kind="stable")
    return np.interp(grid, context.corrected.speed_rpm[order], context.corrected.torque[order])


def _fittings(contexts: Sequence[PullContext]) -> dict[int, list[PullContext]]:
    groups: dict[int, list[PullContext]] = {}
    for context in contexts:
        groups.setdefault(context.fitting, []).append(context)
    return groups


def _scatter(groups: Sequence[FloatArray]) -> tuple[float, int]:
    """Standard deviation from pull to pull with the usual one mixed in, and its degrees of freedom. [%, 1]."""
    freedom = sum(max(group.size - 1, 0) for group in groups)
    squares = sum(float(np.sum((group - group.mean()) ** 2)) for group in groups if group.size)
    total = freedom + _USUAL_FREEDOM
    return float(np.sqrt((squares + _USUAL_FREEDOM * _USUAL_SD**2) / total)), total


def check_first_pulls(contexts: Sequence[PullContext], session: Session) -> list[Check]:
    """Whether first pulls differ from the later ones of their fitting: the engine was not warm yet.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order.
    session : Session
        Range that is analysed.

    Returns
    -------
    list of Check
        One, or none where no fitting has two pulls that are used.
    """
    found: list[tuple[PullContext, float, int]] = []
    later: list[FloatArray] = []
    for group in _fittings(contexts).values():
        used = [context for context in group if context.used]
        levels = pull_levels(used, session.rpm_range) if len(used) > 1 and used[0] is group[0] else None
        if levels is not None:
            found.append((used[0], float(levels[0] - levels[1:].mean()), levels.size - 1))
            later.append(levels[1:])
    if not found:
        return []
    sd, freedom = _scatter(later)
    limit = t_quantile(_SURE, freedom) * sd
    of_day = [step for step in found if step[0] is contexts[0]]
    of_fittings = [step for step in found if step[0] is not contexts[0]]
    if of_day and _stands_out(of_day, limit) and not (of_fittings and _stands_out(of_fittings, limit)):
        context, size, _ = of_day[0]
        return [_first(f"The first pull, {context.pull.name}, is {_than(size)} the later ones of its fitting.", size)]
    mean, _ = _mean_step(found)
    if _stands_out(found, limit):
        return [_first(f"The first pulls of {len(found)} fittings are {_than(mean)} the later ones on average.", mean)]
    says = f"First pulls differ from later ones by {mean:+.1f} % on average, no more than by chance."
    return [Check(pull="", check="first_pull", level=Level.OK, says=says)]


def _mean_step(steps: Sequence[tuple[PullContext, float, int]]) -> tuple[float, float]:
    """Mean of first less later, weighted by what it rests on, and its standard error over that of one pull. [%, 1]."""
    weights = np.array([count / (count + 1.0) for _, _, count in steps])
    return float(np.average([size for _, size, _ in steps], weights=weights)), float(1.0 / np.sqrt(weights.sum()))


def _stands_out(steps: Sequence[tuple[PullContext, float, int]], limit: float) -> bool:
    mean, error = _mean_step(steps)
    return abs(mean) > max(limit * error, _LEAST_FIRST)


def _first(says: str, size: float) -> Check:
    return Check(
        pull="", check="first_pull", level=Level.LOOK, says=says, could_explain=abs(size),
        remedy="make a pull that does not count after every change of parts, or leave the first ones out",
    )  # fmt: skip


def _than(percent: float) -> str:
    return f"{abs(percent):.1f} % {'higher' if percent > 0.0 else 'lower'} than"


def check_baseline_return(contexts: Sequence[PullContext], session: Session) -> list[Check]:
    """Whether the baseline was run again at the end, and how far it came back to where it was.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order.
    session : Session
        Baseline, range that is analysed, and whether times are declared.

    Returns
    -------
    list of Check
        One, or none where only the baseline was run.
    """
    used = [context for context in contexts if context.used]
    base = [context for context in used if context.build == session.baseline.name]
    if len(base) == len(used) or not base:
        return []
    blocks = list(_fittings(base).values())
    if len(blocks) < 2 or not _others_between(used, blocks[0][0], blocks[-1][0], session.baseline.name):
        says = (
            "The baseline was not run again after the other builds: the drift of the day cannot be told from the parts."
        )
        remedy = "run the baseline again at the end"
        return [Check(pull="", check="baseline_return", level=Level.LOOK, says=says, remedy=remedy)]
    levels = pull_levels(base, session.rpm_range)
    if levels is None:
        return []
    groups = _split(levels, [len(block) for block in blocks])
    return [_returned(groups, blocks, timed=all(entry.time is not None for entry in session.pulls))]


def _others_between(used: Sequence[PullContext], first: PullContext, last: PullContext, baseline: str) -> bool:
    order = [context is first or context is last for context in used]
    start, end = order.index(True), len(order) - 1 - order[::-1].index(True)
    return any(context.build != baseline for context in used[start:end])


def _split(levels: FloatArray, counts: Sequence[int]) -> list[FloatArray]:
    return list(np.split(levels, np.cumsum(counts)[:-1]))


def _returned(groups: Sequence[FloatArray], blocks: Sequence[Sequence[PullContext]], *, timed: bool) -> Check:
    first, last = groups[0], groups[-1]
    drift = float(last.mean() - first.mean())
    sd, freedom = _scatter(groups)
    limit = t_quantile(_SURE, freedom) * sd * np.sqrt(1.0 / first.size + 1.0 / last.size)
    starts = [float(np.mean([context.time for context in block])) for block in (blocks[0], blocks[-1])]
    hours = (starts[1] - starts[0]) / 3600.0
    rate = f" in {hours:.1f} h, {drift / hours:+.2f} % an hour" if timed and hours > 0.0 else ""
    if abs(drift) > _LARGE_DRIFT or abs(drift) > max(limit, _LEAST_DRIFT):
        says = f"The baseline came back {_than(drift)} before{rate}."
        remedy = (
            "look for what changed in the day; the bands allow for a steady drift, not for a step between two builds"
        )
        return Check(pull="", check="baseline_return", level=Level.LOOK, says=says, remedy=remedy,
                     could_explain=abs(drift))  # fmt: skip
    says = f"The baseline came back to within {abs(drift):.1f} %{rate}."
    return Check(pull="", check="baseline_return", level=Level.OK, says=says)


def check_pauses(contexts: Sequence[PullContext], session: Session) -> list[Check]:
    """Long pauses between two pulls of one fitting, in which the engine cooled down.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order.
    session : Session
        Whether times are declared.

    Returns
    -------
    list of Check
        One for each pause of more than three quarters of an hour; none where no times are declared.
    """
    if any(entry.time is None for entry in session.pulls):
        return []
    return [
        Check(
            pull=after.pull.name, check="pause", level=Level.LOOK,
            says=f"The engine stood for {(after.time - before.time) / 60.0:.0f} min after {before.pull.name}.",
            remedy="warm it up with a pull that does not count",
        )
        for before, after in pairwise(contexts)
        if before.fitting == after.fitting and after.time - before.time > _PAUSE
    ]  # fmt: skip
