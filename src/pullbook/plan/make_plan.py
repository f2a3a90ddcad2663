"""Session -> Plan: targets, costs, the search, the odds of what it found, and what is left unanswered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from pullbook.errors import RefusalError, Way
from pullbook.plan.confounding import confounded, fitting_floor, over_nights
from pullbook.plan.costs import changed_factors, timetable
from pullbook.plan.offers import MARGIN, Evaluation, choose
from pullbook.plan.score import Score, question_of
from pullbook.plan.search import OrderSearch, SearchLimits, first_enough
from pullbook.plan.starts import shortest_round
from pullbook.plan.targets import ASSUMED_PERCENT, found_span, interaction_targets, plan_targets
from pullbook.plan.terms import believed_scatter, stated_costs
from pullbook.quantities.phrases import hours_and_minutes
from pullbook.records.plan import Ask, Offer, Plan, Step, TargetOdds, Unanswered
from pullbook.records.taught import NOTHING_TAUGHT, Taught

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.plan.costs import Order, Timetable
    from pullbook.plan.front import Found
    from pullbook.plan.odds import DrawnOdds, Judge
    from pullbook.plan.targets import Resolve
    from pullbook.records.build import Build
    from pullbook.records.plan import Target
    from pullbook.records.plan_terms import Costs, ScatterBelief
    from pullbook.records.session import Session

__all__ = ["PlanRequest", "make_plan"]

_STEPS: Final = 1000  # steps of the search for each build
_FEWEST_STEPS: Final = 10_000
_MOST_STEPS: Final = 16_000
_LONGER: Final = (1.5, 2.25, 3.5, 5.0, 8.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """What is asked of a plan.

    Attributes
    ----------
    resolve : Resolve or None
        Size to tell; None for the claims of the session.
    within : float or None
        Time that the session may take; None for one day. [s]
    aim : float
        Odds from which on an order counts as able to answer. [1]
    seed : int
        Of the search.
    """

    resolve: Resolve | None = None
    within: float | None = None
    aim: float = 0.8
    seed: int = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Setting:
    builds: tuple[Build, ...]
    costs: Costs
    belief: ScatterBelief
    times: Timetable
    targets: tuple[Target, ...]
    extra: tuple[Target, ...]
    span: tuple[float, float]
    score: Score


def make_plan(
    session: Session, request: PlanRequest, judge: Judge, step: Callable[[str, int, int], None],
    taught: Taught = NOTHING_TAUGHT,
) -> Plan:  # fmt: skip
    """Offers for a session.

    Parameters
    ----------
    session : Session
        Builds, factors, claims; pulls are not looked at.
    request : PlanRequest
        What is asked. [s]
    judge : Judge
        How the comparison will judge. [%]
    step : callable
        Is told what is done and how far it is; may end the work by raising.
    taught : Taught
        What earlier sessions say of the scatter of the bench.

    Returns
    -------
    Plan
        With at least one offer. `not_estimable` is left to the caller. [s, %]

    Raises
    ------
    RefusalError
        If not even one pull of each build and one repeat fit into the time.
    UnfinishedError
        If a size cannot be turned into per cent.
    """
    costs, assumed = stated_costs(session)
    setting, said = _setting(session, request, costs, believed_scatter(session, taught))
    within = request.within if request.within is not None else costs.day
    steps = min(max(_STEPS * len(setting.builds), _FEWEST_STEPS), _MOST_STEPS)
    limits = SearchLimits(seconds=within, steps=steps, seed=request.seed)
    search = OrderSearch(setting.score, limits, lambda done, total: step("looking for orders", done, total))
    if not search.run().found:
        raise _too_short(session, setting, within)
    drawn = [0]

    def tick() -> None:
        drawn[0] += 1
        step("drawing sessions of an order", drawn[0], 0)

    told = (*setting.targets, *setting.extra)
    names = [build.name for build in setting.builds]
    question = question_of(told, names, setting.span, setting.belief)
    evaluation = Evaluation(setting.score, told, question, judge, tick)
    search.shortest_enough(lambda order: evaluation.worst(order) >= request.aim + MARGIN)
    chosen = choose(search.front.found, evaluation, request.aim)
    offers = tuple(_offer(name, found, setting, evaluation) for name, found in chosen)
    return Plan(
        title=session.title,
        within=within,
        aim=request.aim,
        span=setting.span,
        targets=told,
        offers=offers,
        costs=costs,
        belief=setting.belief,
        assumptions=(*said, *assumed, setting.belief.source, *taught.says),
        not_estimable=(),
        unanswered=_unanswered(setting, offers[-1], request, evaluation, limits, step),
    )


def _setting(
    session: Session, request: PlanRequest, costs: Costs, belief: ScatterBelief
) -> tuple[_Setting, tuple[str, ...]]:
    span = found_span(session, request.resolve)
    targets = plan_targets(session, request.resolve, span.rpm)
    extra = interaction_targets(session.builds, targets[0])
    times = timetable(session.builds, costs)
    names = [build.name for build in session.builds]
    score = Score(times=times, question=question_of(targets, names, span.rpm, belief), belief=belief)
    said: list[str] = []
    claimed = any(target.ask is Ask.CLAIM for target in targets)
    if request.resolve is None and session.plan.resolve is None and (claimed or not session.claims):
        what = "How far the truth is off a claim" if claimed else "The smallest difference that matters"
        said.append(f"{what} is taken as {ASSUMED_PERCENT:g} % of the torque ([plan] resolve, or --resolve).")
    if span.assumed:
        said.append(f"The range is taken as {span.rpm[0]:,.0f} to {span.rpm[1]:,.0f} rpm ([session] rpm).")
    setting = _Setting(
        builds=session.builds, costs=costs, belief=belief, times=times, targets=targets, extra=extra, span=span.rpm,
        score=score,
    )  # fmt: skip
    return setting, tuple(said)


def _too_short(session: Session, setting: _Setting, within: float) -> RefusalError:
    least = setting.times.seconds(shortest_round(setting.times)) + setting.times.pull
    return RefusalError(
        f"one pull of each of the {len(setting.builds)} builds and one repeat take {hours_and_minutes(least)}, longer "
        f"than {hours_and_minutes(within)}",
        where=session.title, remedy=Way.TIME.said("allow more time, or take builds out of session.toml"),
    )  # fmt: skip


def _offer(name: str, found: Found, setting: _Setting, evaluation: Evaluation) -> Offer:
    told = (*setting.targets, *setting.extra)
    names = [build.name for build in setting.builds]
    drawn = evaluation.drawn(found.order, final=True)
    return Offer(
        name=name,
        steps=_steps(found.order, setting),
        seconds=found.seconds,
        targets=_target_odds(found.order, drawn, told, names, setting.belief),
        confounded=(
            *confounded(found.order, setting.builds, setting.belief),
            *over_nights(found.seconds, setting.costs.day),
        ),
        wanted=len(setting.targets),
    )


def _steps(order: Order, setting: _Setting) -> tuple[Step, ...]:
    _, fitting, hours = setting.times.pulls(order)
    steps: list[Step] = []
    for number, (build, pulls) in enumerate(order):
        before = setting.builds[order[number - 1][0]] if number else None
        changed = () if before is None else changed_factors(before, setting.builds[build]) or ("build",)
        start = setting.times.first + 3600.0 * float(hours[fitting == number][0])
        steps.append(
            Step(build=setting.builds[build].name, fitting=number + 1, pulls=pulls, changed=changed, start=start)
        )
    return tuple(steps)


def _target_odds(
    order: Order, drawn: DrawnOdds, targets: Sequence[Target], names: Sequence[str], belief: ScatterBelief
) -> tuple[TargetOdds, ...]:
    return tuple(
        TargetOdds(
            target=target.name,
            odds=odds,
            detectable=detectable,
            detectable_size=detectable * target.size / target.percent,
            floor=fitting_floor(order, {names.index(name): weight for name, weight in target.contrast}, belief),
        )
        for target, odds, detectable in zip(targets, drawn.odds.tolist(), drawn.detectable.tolist(), strict=True)
    )


def _unanswered(
    setting: _Setting, surest: Offer, request: PlanRequest, evaluation: Evaluation, limits: SearchLimits,
    step: Callable[[str, int, int], None],
) -> tuple[Unanswered, ...]:  # fmt: skip
    """Targets that stay below the odds even with the surest order, and the time that would do for each."""
    open_ = [n for n, _ in enumerate(setting.targets) if surest.targets[n].odds < request.aim]
    if not open_:
        return ()
    when: dict[int, float] = {}
    for shorter, longer in pairwise((1.0, *_LONGER)):
        more = replace(limits, seconds=longer * limits.seconds, steps=limits.steps // 2,
                       shortest=shorter * limits.seconds)  # fmt: skip
        search = OrderSearch(setting.score, more, lambda done, total: step("looking for longer sessions", done, total))
        found = search.run().found
        for n in open_:
            if n not in when and (one := first_enough(found, partial(_answers, evaluation, n, request.aim))):
                when[n] = one.seconds
        if len(when) == len(open_):
            break
    return tuple(
        Unanswered(
            target=setting.targets[n].name,
            smallest=surest.targets[n].detectable_size,
            seconds=when.get(n),
            searched=limits.seconds * _LONGER[-1],
        )
        for n in open_
    )


def _answers(evaluation: Evaluation, target: int, aim: float, order: Order) -> bool:
    return bool(evaluation.drawn(order).odds[target] >= aim)
