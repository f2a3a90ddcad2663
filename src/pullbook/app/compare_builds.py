"""compare: session folder -> findings, with every pull and check that they rest on."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.app.learn_history import prior_of
from pullbook.app.load_session import load_session
from pullbook.app.looks import look_confidence, looks_said
from pullbook.app.prepare import prepare
from pullbook.app.question import Question
from pullbook.compare.findings import compare_drawn, compare_pulls, compare_with_windows
from pullbook.compare.window_tables import torque_tables
from pullbook.errors import InputError, RefusalError, Way
from pullbook.records.comparison import ComparablePull, Comparison
from pullbook.records.result import SessionResult

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from pullbook.app.learn_history import Teacher
    from pullbook.app.ports import Progress
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.curves.archive_prior import ArchivePrior
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.finding import Findings
    from pullbook.records.result import PullStatus
    from pullbook.records.session import Session

__all__ = ["compare_session", "comparison_between", "comparison_of"]

_EDGE_RPM: Final = 50.0


def compare_session(
    folder: Path, question: Question, progress: Progress, *, with_windows: bool = False, teacher: Teacher | None = None
) -> SessionResult:
    """Compare the builds of a session.

    Parameters
    ----------
    folder : Path
        The session folder, or its ``session.toml``.
    question : Question
        What is asked.
    progress : Progress
        Is told how far the work is.
    with_windows : bool
        Work out the mean gain over every window too, for a page on which the reader chooses one.
    teacher : callable or None
        Knows what earlier sessions of the bench taught of its scatter; None to stand by this session alone.

    Returns
    -------
    result : SessionResult
        Pulls, checks and findings.

    Raises
    ------
    InputError
        If the session or a file is wrong.
    RefusalError
        If the data cannot answer: no fit pull of a build, no speed in common, or one pull a build and no bands.
    """
    loaded = load_session(folder, progress)
    if question.standard is not None:
        loaded = replace(loaded, session=replace(loaded.session, standard=question.standard))
    session = loaded.session
    prepared = prepare(loaded, progress)
    used = [status for status in prepared.statuses if status.used]
    _every_build_left(session, prepared.statuses, question.system)
    progress.step("comparing", 0, 1)
    comparison = _comparison(session, used, question)
    taught = None if teacher is None else teacher(session, prepared.statuses)
    prior = None if taught is None else prior_of(taught)
    everything = [status for n, status in enumerate(prepared.statuses) if n not in prepared.duplicates]
    beside = partial(_with_all, session, everything if len(everything) != len(used) else [], question, prior)
    # Most of both is done by numpy, which lets threads run side by side.
    with ThreadPoolExecutor(max_workers=1) as other:
        whole = other.submit(beside)
        findings, tables = (
            compare_with_windows(comparison, prior) if with_windows else (compare_pulls(comparison, prior), ())
        )
        with_all, curves = whole.result() or (None, None)
    progress.step("comparing", 1, 1)
    if not (findings.has_bands or question.without_bands):
        why = next((refusal.why for refusal in findings.refusals), "There are too few pulls to state a doubt")
        raise RefusalError(
            why.rstrip("."), where=session.title,
            remedy=Way.WITHOUT_BANDS.said("make a second pull of at least one build, or ask for curves alone"),
        )  # fmt: skip
    said: tuple[str, ...] = ()
    if taught is not None:
        # With a prior, the first assumption says what was made of it.
        said = (*findings.assumptions[: int(prior is not None)], *taught.says)
        findings = replace(findings, assumptions=(*findings.assumptions, *taught.says))
    if session.plan.looks:
        findings = replace(findings, assumptions=(*findings.assumptions, *looks_said(session)))
    if prepared.times_assumed:
        note = "No pull has a time; 6 minutes between pulls and 40 minutes for a change of parts were assumed."
        findings = replace(findings, assumptions=(*findings.assumptions, note))
    left_out = {status.build for status in prepared.statuses if not status.used}
    touched = [table for table in tables if left_out & {table.of, table.from_}]
    return SessionResult(
        session=session,
        pulls=prepared.statuses,
        checks=prepared.checks,
        findings=findings,
        findings_with_all=with_all,
        windows_any=tables,
        windows_with_all=() if curves is None else torque_tables(curves, touched),
        taught=taught,
        from_history=said,
    )


def _with_all(
    session: Session, statuses: Sequence[PullStatus], question: Question, prior: ArchivePrior | None
) -> tuple[Findings, DrawnCurves] | None:
    """Findings of all pulls that were made, to stand beside those of the pulls that are used.

    There are none where no pull was left out, nor where all of them together cannot be compared: that is no reason to
    refuse what the pulls that are used show.
    """
    if not statuses:
        return None
    try:
        return compare_drawn(_comparison(session, statuses, question), prior)
    except RefusalError:
        return None


def comparison_of(result: SessionResult) -> Comparison:
    """What was compared in a session, of every build from the baseline.

    Parameters
    ----------
    result : SessionResult
        Pulls and declarations. [N m, rpm, s]
    """
    return _comparison(result.session, [status for status in result.pulls if status.used], Question())


def _comparison(session: Session, statuses: Sequence[PullStatus], question: Question) -> Comparison:
    pulls = tuple(_comparable(status) for status in statuses)
    low = max(float(pull.speed_rpm[0]) for pull in pulls) + _EDGE_RPM
    high = min(float(pull.speed_rpm[-1]) for pull in pulls) - _EDGE_RPM
    if session.rpm_range is not None:
        low, high = max(low, session.rpm_range[0]), min(high, session.rpm_range[1])
    if high - low < 4 * _EDGE_RPM:
        ranges = "; ".join(f"{pull.name} {pull.speed_rpm[0]:,.0f} to {pull.speed_rpm[-1]:,.0f} rpm" for pull in pulls)
        raise RefusalError(
            f"the pulls have no range of speed in common ({ranges})", where=session.title,
            remedy=Way.LEFT_OUT.said("leave the odd pull out with 'left_out', or widen [session] rpm"),
        )  # fmt: skip
    windows = (*session.windows, *question.windows) or _thirds(low, high)
    return Comparison(
        pulls=pulls,
        builds=session.builds,
        baseline=session.baseline.name,
        factors=session.factors,
        claims=session.claims,
        windows=tuple(dict.fromkeys(windows)),
        pairs=_pairs(session, question),
        rpm_range=session.rpm_range,
        torque_kind=statuses[0].pull.torque_kind,
        confidence=look_confidence(session),
    )


def comparison_between(session: Session, statuses: Sequence[PullStatus], question: Question) -> Comparison:
    """What is compared of the pulls of a session, which may be under way.

    Parameters
    ----------
    session : Session
        What was declared.
    statuses : sequence of PullStatus
        The pulls that are used; at least one.
    question : Question
        What is asked.

    Raises
    ------
    RefusalError
        If the pulls have no range of speed in common.
    """
    return _comparison(session, statuses, question)


def _comparable(status: PullStatus) -> ComparablePull:
    order = np.argsort(status.corrected.speed_rpm, kind="stable")
    return ComparablePull(
        name=status.pull.name,
        build=status.build,
        fitting=status.fitting,
        time=status.time,
        speed_rpm=status.corrected.speed_rpm[order],
        torque=status.corrected.torque[order],
    )


def _thirds(low: float, high: float) -> tuple[tuple[float, float], ...]:
    """Lower, middle and upper third of the range, at full hundreds."""
    ends = [round(low + (high - low) * share / 3, -2) for share in range(4)]
    ends[0], ends[3] = np.ceil(low / 100) * 100, np.floor(high / 100) * 100
    return tuple((float(first), float(last)) for first, last in pairwise(ends) if first < last)


def _pairs(session: Session, question: Question) -> tuple[tuple[str, str], ...]:
    names = [build.name for build in session.builds]
    for option, name in (("of", question.of), ("from", question.from_)):
        if name and name not in names:
            raise InputError(
                "the session has no such build",
                where=f"{question.mark}{option}",
                value=name,
                remedy=f"choose one of {', '.join(names)}",
            )
    base = question.from_ or session.baseline.name
    others = [question.of] if question.of else [name for name in names if name != base]
    if question.of == base:
        raise InputError(
            "a build cannot be compared with itself", where=f"{question.mark}of", value=base, remedy="name two builds"
        )
    return tuple((name, base) for name in others)


def _every_build_left(session: Session, statuses: tuple[PullStatus, ...], system: UnitSystem) -> None:
    """Refuse when the checks or the tester left nothing of a build."""
    for build in session.builds:
        own = [status for status in statuses if status.build == build.name]
        if own and not any(status.used for status in own):
            reasons = "; ".join(f"{status.pull.name}: {status.reason(system).rstrip('.')}" for status in own)
            raise RefusalError(
                f"no pull of build {build.name} is fit to compare ({reasons})", where=session.title,
                remedy=Way.BUILD_OUT.said("make the pull again, or take the build out of session.toml"),
            )  # fmt: skip
