"""rehearse: planned sessions are simulated and put through the real comparison, to see whether the odds hold."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from multiprocessing import get_context
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.compare.claims import decide_claims
from pullbook.compare.differences import window_gains
from pullbook.compare.drawn import drawn_curves, gain_of
from pullbook.compare.joint import draw_jointly
from pullbook.plan.simulated_session import planned_pulls, simulate_pulls
from pullbook.records.build import Build
from pullbook.records.comparison import Comparison
from pullbook.records.plan import Ask
from pullbook.records.pull import TorqueKind
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.app.ports import Progress
    from pullbook.plan.simulated_session import PlannedPulls
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.declaration import Claim
    from pullbook.records.plan import Offer, Plan, Target
    from pullbook.records.plan_terms import ScatterBelief
    from pullbook.records.session import Session

__all__ = ["Rehearsal", "rehearse_plan"]

_DRAWS: Final = 1000
_CHUNK: Final = 10
_CONFIDENCE: Final = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """How a plan is rehearsed.

    Attributes
    ----------
    sessions : int
        Sessions simulated for each offer. [1]
    workers : int
        Processes. [1]
    seed : int
        Of the simulated sessions.
    """

    sessions: int = 200
    workers: int = 2
    seed: int = 2027


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Task:
    planned: PlannedPulls
    builds: tuple[str, ...]
    baseline: str
    targets: tuple[Target, ...]
    claims: tuple[Claim, ...]
    belief: ScatterBelief
    seeds: tuple[np.random.SeedSequence, ...]


def rehearse_plan(plan: Plan, session: Session, rehearsal: Rehearsal, progress: Progress) -> Plan:
    """Simulate the sessions of all offers and put them through the comparison.

    All builds are simulated alike, and each target is moved instead: a claim is turned into one that is true by the
    size that has to be told, and an interval has to be clear of minus that size. Gains of a few per cent add to the
    scatter without changing it, so that this is the same as true gains, for all targets at once.

    Parameters
    ----------
    plan : Plan
        The offers.
    session : Session
        For its builds.
    rehearsal : Rehearsal
        How many sessions.
    progress : Progress
        Is told how far the work is, and may end it.

    Returns
    -------
    Plan
        With the shares that were seen beside the odds. [1]
    """
    total = rehearsal.sessions * len(plan.offers)
    done = 0
    offers: list[Offer] = []
    for number, offer in enumerate(plan.offers):
        progress.step(f"rehearsing the {offer.name}", done, total)
        tasks = _tasks(plan, session, offer, rehearsal, number)
        answered = np.zeros(offer.wanted)
        for share in _run(tasks, rehearsal.workers):
            answered += share
            done += _CHUNK
            progress.step(f"rehearsing the {offer.name}", min(done, total), total)
        seen = tuple((answered / rehearsal.sessions).tolist())
        offers.append(replace(offer, rehearsed=seen, sessions=rehearsal.sessions))
    return replace(plan, offers=tuple(offers))


def _tasks(plan: Plan, session: Session, offer: Offer, rehearsal: Rehearsal, number: int) -> list[_Task]:
    seeds = np.random.SeedSequence((rehearsal.seed, number)).spawn(rehearsal.sessions)
    planned = planned_pulls(offer.steps, plan.costs.pull, plan.span)
    targets = plan.targets[: offer.wanted]
    asked = {target.name for target in targets if target.ask is not Ask.CLEAR}
    claims = tuple(_true_claim(claim, targets) for claim in session.claims if claim.id in asked)
    return [
        _Task(
            planned=planned, builds=tuple(build.name for build in session.builds), baseline=session.baseline.name,
            targets=targets, claims=claims, belief=plan.belief, seeds=tuple(seeds[first : first + _CHUNK]),
        )
        for first in range(0, rehearsal.sessions, _CHUNK)
    ]  # fmt: skip


def _run(tasks: list[_Task], workers: int) -> Iterator[FloatArray]:
    if workers < 2:
        yield from (_answered(task) for task in tasks)
        return
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
    try:
        for future in as_completed([pool.submit(_answered, task) for task in tasks]):
            yield future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _answered(task: _Task) -> FloatArray:
    """How many of the sessions of a task answer each target."""
    counts = np.zeros(len(task.targets))
    builds = tuple(Build(name=name, baseline=name == task.baseline, levels={}) for name in task.builds)
    for seed in task.seeds:
        pulls = simulate_pulls(task.planned, task.belief, np.random.default_rng(seed))
        comparison = Comparison(
            pulls=pulls, builds=builds, baseline=task.baseline, claims=task.claims, rpm_range=task.planned.span,
            torque_kind=TorqueKind.MEASURED, draws=_DRAWS, confidence=_CONFIDENCE,
        )  # fmt: skip
        joint = draw_jointly(comparison)
        curves = drawn_curves(joint, task.baseline, TorqueKind.MEASURED, _CONFIDENCE)
        verdicts = {found.id: found.verdict for found in decide_claims(task.claims, curves, None, [])}
        for place, target in enumerate(task.targets):
            if target.ask is not Ask.CLEAR:
                counts[place] += verdicts[target.name] is Verdict.SUPPORTED
                continue
            window = target.window or curves.span_rpm
            gain = gain_of(curves, dict(target.contrast))
            found = window_gains(replace(comparison, windows=(window,)), curves, gain, target.name, [])
            counts[place] += any(one.percent.low + target.percent > 0.0 for one in found)
    return counts


def _true_claim(claim: Claim, targets: Sequence[Target]) -> Claim:
    """Claim that is true by the size of its target, where all builds are alike."""
    target = next(one for one in targets if one.name == claim.id)
    share = 0.01 * target.percent
    within = target.ask is Ask.WITHIN
    return replace(
        claim, in_percent=True, at_least=None if within else -share, at_most=None, within=share if within else None
    )
