"""next: a session that is under way -> what is open, and what would decide it soonest; the look is kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, partial
from itertools import groupby
from typing import TYPE_CHECKING, Final

from pullbook.app.compare_builds import comparison_between
from pullbook.app.folder import folder_of, read_session_text
from pullbook.app.learn_history import prior_of
from pullbook.app.load_session import load_made
from pullbook.app.looks import keep_look, level_after, look_confidence, looks_said, pulls_made, with_look
from pullbook.app.plan_question import plan_request
from pullbook.app.prepare import prepare
from pullbook.app.question import Question
from pullbook.app.standings import standings_of, unmeasured
from pullbook.app.stated_torque import with_measured_torque
from pullbook.capture.session_file import parse_session
from pullbook.compare.prior import DEFAULT_PRIOR, SPREAD_ALLOWANCE
from pullbook.errors import RefusalError, Way
from pullbook.plan.next_choice import Bench, next_choices
from pullbook.plan.odds import Judge
from pullbook.plan.targets import found_span, plan_targets
from pullbook.plan.terms import believed_scatter, stated_costs
from pullbook.quantities.toml_lines import lines_named
from pullbook.records.outlook import Outlook, State
from pullbook.records.taught import NOTHING_TAUGHT

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from pullbook.app.learn_history import Teacher
    from pullbook.app.plan_session import PlanWords
    from pullbook.app.ports import Progress
    from pullbook.plan.next_choice import Steps
    from pullbook.records.outlook import Choice, Standing
    from pullbook.records.result import PullStatus
    from pullbook.records.session import Session

__all__ = ["next_pull"]

_REASON: Final = 0.1  # odds below which nothing is worth a pull
_SESSIONS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Made:
    """Session with the pulls that have files, and those that are still to come."""

    session: Session
    statuses: tuple[PullStatus, ...]
    rest: Steps
    planned: int

    @property
    def steps(self) -> Steps:
        """Fittings so far, with the pulls that count."""
        used = [status for status in self.statuses if status.used]
        runs = [list(run) for _, run in groupby(used, key=lambda status: status.fitting)]
        return tuple((run[0].build, len(run)) for run in runs)


def next_pull(folder: Path, words: PlanWords, progress: Progress, *, teacher: Teacher | None = None) -> Outlook:
    """Say what a session that is under way has decided, and what would decide the rest soonest.

    The look is kept in ``session.toml`` before anything is said, so that `compare_session` knows of it.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``; pulls without files are still to be made.
    words : PlanWords
        What is asked, as for a plan.
    progress : Progress
        Is told how far the work is, and may end it.
    teacher : callable or None
        Says what earlier sessions tell of the scatter of the bench.

    Returns
    -------
    Outlook
        [s, 1]

    Raises
    ------
    InputError
        If the session or a file is wrong.
    RefusalError
        If no pulls are planned, it is too early to look, or the error rate is all spent.
    FailureError
        If the look cannot be kept; nothing is said then.
    """
    text = read_session_text(folder)
    with lines_named(text, "session.toml"):
        declared = parse_session(text, tested=False)
        made = _made(declared, folder, progress)
        session, notes = with_measured_torque(made.session, made.statuses)
        made = replace(made, session=session)
        costs, assumed = stated_costs(session)
        request = plan_request(session, resolve=words.resolve, pair=(words.of, words.from_), day=costs.day)
        span = found_span(session, request.resolve).rpm
        targets = plan_targets(session, request.resolve, span)
    taught = NOTHING_TAUGHT if teacher is None else teacher(session, made.statuses)
    looked = with_look(session, made.planned)
    standings = unmeasured(targets)
    if made.steps:
        comparison = comparison_between(looked, [status for status in made.statuses if status.used], Question())
        standings = standings_of(comparison, targets, prior_of(taught))
    kept: tuple[str, ...] = ()
    if any(one.state is not State.UNMEASURED for one in standings):
        keep_look(folder, looked)
        kept = ("The look is written into session.toml ([plan] looks), so that every comparison holds the same level.",)
    else:
        looked = session  # nothing was seen
    belief = believed_scatter(session, taught)
    bench = Bench(
        builds=session.builds, costs=costs, belief=belief, span=span,
        judge=Judge(prior=DEFAULT_PRIOR, allowance=SPREAD_ALLOWANCE, sessions=_SESSIONS), claims=len(session.claims),
        level_at=cache(partial(level_after, looked, planned=made.planned)), step=progress.step,
    )  # fmt: skip
    open_ = [n for n, one in enumerate(standings) if one.state is not State.DECIDED]
    choices: tuple[Choice, ...] = ()
    if open_ and made.rest:
        choices = next_choices(bench, made.steps, made.rest, [targets[n] for n in open_], [standings[n] for n in open_])
    return Outlook(
        title=session.title,
        made=pulls_made(session),
        planned=looked.plan.planned or made.planned,
        looks=looked.plan.looks,
        confidence=look_confidence(looked),
        targets=targets,
        standings=standings,
        choices=choices,
        stop=_stop(standings, made.rest, choices),
        assumptions=(
            *looks_said(looked),
            *kept,
            *notes,
            *assumed,
            belief.source,
            *taught.says,
        ),
    )


def _made(declared: Session, folder: Path, progress: Progress) -> _Made:
    if not declared.pulls:
        raise RefusalError(
            "no pulls are planned in this session", where=declared.title,
            remedy=Way.PLAN.said("plan the session first, and go on with the order that is taken"),
        )  # fmt: skip
    root = folder_of(folder)
    to_come = [entry.build for entry in declared.pulls if not entry.left_out and not (root / entry.file).exists()]
    planned = declared.plan.planned or pulls_made(declared)
    loaded = load_made(declared, folder, progress)
    left = max(planned - pulls_made(loaded.session), 0)
    rest = _runs(to_come[:left])
    statuses = prepare(loaded, progress).statuses if loaded.pulls else ()
    return _Made(session=loaded.session, statuses=statuses, rest=rest, planned=planned)


def _runs(builds: Iterable[str]) -> Steps:
    return tuple((name, len(list(run))) for name, run in groupby(builds))


def _stop(standings: tuple[Standing, ...], rest: Steps, choices: tuple[Choice, ...]) -> str:
    """Why the session may end; empty where it goes on."""
    if all(one.state is State.DECIDED for one in standings):
        return "everything that was asked is decided"
    open_ = " and ".join(one.target for one in standings if one.state is not State.DECIDED)
    if not rest:
        return f"all pulls of the plan are made; {open_} stays open"
    best = max((one.best for one in choices), default=0.0)
    if best < _REASON:
        return f"nothing that is left of the plan decides {open_} with more than {100.0 * best:.0f} % odds"
    return ""
