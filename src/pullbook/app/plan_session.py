"""plan: session folder -> offers of orders with their cost and their odds; no pull is needed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from pullbook.app.folder import read_session_text
from pullbook.app.load_session import load_made
from pullbook.app.plan_question import plan_request
from pullbook.app.prepare import prepare
from pullbook.app.stated_torque import with_measured_torque
from pullbook.capture.session_file import parse_session
from pullbook.compare.design import describe_design
from pullbook.compare.prior import DEFAULT_PRIOR, SPREAD_ALLOWANCE
from pullbook.plan.make_plan import make_plan
from pullbook.plan.odds import Judge
from pullbook.plan.terms import stated_costs
from pullbook.quantities.toml_lines import lines_named
from pullbook.records.comparison import ComparablePull, Comparison
from pullbook.records.pull import TorqueKind
from pullbook.records.taught import NOTHING_TAUGHT

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.app.learn_history import Teacher
    from pullbook.app.ports import Progress
    from pullbook.records.plan import Plan
    from pullbook.records.session import Session

__all__ = ["PlanWords", "Planned", "plan_session"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWords:
    """What is asked, in the words of options.

    Attributes
    ----------
    resolve : str
        Size to tell, as in "6 N m over 2500..3500 rpm"; empty for the claims of the session.
    within : str
        Time, as in "1 day"; empty for one day.
    of, from_ : str
        A pair of builds; empty for every build from the baseline.
    odds : float
        Odds from which on an order counts as able to answer. [%]
    """

    resolve: str = ""
    within: str = ""
    of: str = ""
    from_: str = ""
    odds: float = 80.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Planned:
    """A plan, and the session that it is for.

    Attributes
    ----------
    session : Session
        What was declared.
    text : str
        Its ``session.toml``.
    plan : Plan
        The offers. [s, %]
    """

    session: Session
    text: str
    plan: Plan


def plan_session(folder: Path, words: PlanWords, progress: Progress, *, teacher: Teacher | None = None) -> Planned:
    """Plan a session from its builds, factors, costs and claims.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``; it needs no pulls yet.
    words : PlanWords
        What is asked.
    progress : Progress
        Is told how far the work is, and may end it.
    teacher : callable or None
        Says what earlier sessions tell of the scatter of the bench.

    Returns
    -------
    Planned
        The offers, from the cheapest to the surest. [s, %]

    Raises
    ------
    InputError
        If the session file or an option is wrong.
    RefusalError
        If the builds cannot even be run in the time.
    """
    text = read_session_text(folder)
    with lines_named(text, "session.toml"):
        session, measured = _with_pulls(parse_session(text, tested=False), folder, progress)
        costs, _ = stated_costs(session)
        request = plan_request(
            session, resolve=words.resolve, within=words.within, pair=(words.of, words.from_), day=costs.day,
            odds=words.odds,
        )  # fmt: skip
        judge = Judge(prior=DEFAULT_PRIOR, allowance=SPREAD_ALLOWANCE)
        taught = NOTHING_TAUGHT if teacher is None else teacher(session, ())
        plan = make_plan(session, request, judge, progress.step, taught)
    plan = replace(
        plan, assumptions=(*measured, *plan.assumptions), not_estimable=_not_estimable(session)
    )  # fmt: skip
    return Planned(session=session, text=text, plan=plan)


def _with_pulls(session: Session, folder: Path, progress: Progress) -> tuple[Session, tuple[str, ...]]:
    """Session that knows from the pulls that were made how large the torque is; as it is where there are none."""
    if session.plan.mean_torque is not None and session.plan.peak_power is not None:
        return session, ()
    loaded = load_made(session, folder, progress)
    if not loaded.pulls:
        return session, ()
    return with_measured_torque(session, prepare(loaded, progress).statuses)


def _not_estimable(session: Session) -> tuple[str, ...]:
    """What no order of these builds can tell apart."""
    if not session.factors:
        return ()
    speed = np.array([1000.0, 2000.0])
    pulls = tuple(
        ComparablePull(name=build.name, build=build.name, fitting=number, time=float(number), speed_rpm=speed,
                       torque=np.ones(2))
        for number, build in enumerate(session.builds)
    )  # fmt: skip
    comparison = Comparison(
        pulls=pulls, builds=session.builds, baseline=session.baseline.name, factors=session.factors,
        torque_kind=TorqueKind.RELATIVE,
    )  # fmt: skip
    report = describe_design(comparison)
    return (*report.aliased, *report.mixed, *report.untested)
