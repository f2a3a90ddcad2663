"""Comparison -> Findings: everything that the joint draws of a session say, and what they cannot."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pullbook.compare.bad_pulls import bad_pulls_of
from pullbook.compare.claim_needs import planning
from pullbook.compare.claims import decide_claims
from pullbook.compare.design import describe_design
from pullbook.compare.detectable import detectable_gains
from pullbook.compare.differences import crossover_shifts, difference
from pullbook.compare.drawn import drawn_curves
from pullbook.compare.effects import effects_of
from pullbook.compare.history import Believed, draw_believing
from pullbook.compare.interactions import interactions_of
from pullbook.compare.peaks import build_peaks, peak_of
from pullbook.compare.prior import DEFAULT_PRIOR
from pullbook.compare.refusals import itself, no_bands, not_run, peaks_with_gap
from pullbook.compare.repeatability import repeatability_of
from pullbook.compare.selfcheck import selfcheck_ratio
from pullbook.compare.window_tables import window_tables
from pullbook.compare.words import assumptions, peak_at_end, unlike_model
from pullbook.errors import RefusalError
from pullbook.records.finding import BuildFinding, Findings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.compare.drawn import DrawnCurves
    from pullbook.compare.peaks import BuildPeaks
    from pullbook.curves.archive_prior import ArchivePrior
    from pullbook.curves.joint import JointDraws
    from pullbook.records.comparison import Comparison
    from pullbook.records.finding import Difference
    from pullbook.records.scatter import Detectable
    from pullbook.records.verdict import Refusal
    from pullbook.records.window_table import WindowTable

__all__ = ["compare_drawn", "compare_pulls", "compare_with_windows", "findings_from"]


def compare_pulls(comparison: Comparison, archive: ArchivePrior | None = None) -> Findings:
    """Compare the builds of a session: curves, gains, crossovers, windows, peaks, effects and verdicts, with bands.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the questions. [N m, rpm, s]
    archive : ArchivePrior or None
        What earlier sessions of the same bench taught of its scatter.

    Returns
    -------
    Findings
        What the session shows, and as refusals what it cannot show. [N m, W, rpm, %]

    Raises
    ------
    RefusalError
        If the baseline has no pulls, or the pulls share no range of speed.

    Notes
    -----
    The same data give the same digits, in whatever order and under whatever names they come. Measured error rates are
    in the documentation.
    """
    return compare_drawn(comparison, archive)[0]


def compare_with_windows(
    comparison: Comparison, archive: ArchivePrior | None = None
) -> tuple[Findings, tuple[WindowTable, ...]]:
    """As `compare_pulls`, with the mean gain of each pair over every window, for a reader who chooses one.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the questions. [N m, rpm, s]
    archive : ArchivePrior or None
        What earlier sessions of the same bench taught of its scatter.

    Returns
    -------
    findings : Findings
        As `compare_pulls` gives them. [N m, W, rpm, %]
    tables : tuple of WindowTable
        One for each difference of the findings, in their order. [N m, W, %]

    Raises
    ------
    RefusalError
        As `compare_pulls`.
    """
    findings, curves = compare_drawn(comparison, archive)
    return findings, window_tables(comparison, curves, [(one.of, one.from_) for one in findings.differences])


def compare_drawn(comparison: Comparison, archive: ArchivePrior | None = None) -> tuple[Findings, DrawnCurves]:
    """As `compare_pulls`, with the curves that the findings are read off.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the questions. [N m, rpm, s]
    archive : ArchivePrior or None
        What earlier sessions of the same bench taught of its scatter.

    Returns
    -------
    findings : Findings
        As `compare_pulls` gives them. [N m, W, rpm, %]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]

    Raises
    ------
    RefusalError
        As `compare_pulls`.
    """
    joint, believed = _drawn(comparison, archive)
    curves = drawn_curves(joint, comparison.baseline, comparison.torque_kind, comparison.confidence)
    return _findings(comparison, joint, curves, believed), curves


def _drawn(comparison: Comparison, archive: ArchivePrior | None) -> tuple[JointDraws, Believed]:
    if all(pull.build != comparison.baseline for pull in comparison.pulls):
        raise RefusalError(
            "the baseline has no pulls to compare with",
            value=comparison.baseline,
            remedy="add a pull of it, or name another baseline",
        )
    return draw_believing(comparison, archive)


def findings_from(comparison: Comparison, joint: JointDraws, believed: Believed | None = None) -> Findings:
    """Everything that is read off given joint draws.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the questions. [N m, rpm, s]
    joint : JointDraws
        Curves of all builds with their draws. [%]
    believed : Believed or None
        What was believed of the scatter; None for what is declared without an archive.

    Returns
    -------
    Findings
        As `compare_pulls`. [N m, W, rpm, %]
    """
    curves = drawn_curves(joint, comparison.baseline, comparison.torque_kind, comparison.confidence)
    return _findings(comparison, joint, curves, believed or Believed(prior=DEFAULT_PRIOR))


def _findings(comparison: Comparison, joint: JointDraws, curves: DrawnCurves, believed: Believed) -> Findings:
    refusals = [] if curves.has_bands else [no_bands()]
    peaks = _peaks(curves, refusals)
    differences = tuple(
        difference(comparison, curves, pair, peaks, refusals) for pair in _run_pairs(comparison, curves, refusals)
    )
    base = joint.cells.index(comparison.baseline)
    plain = Findings(
        confidence=comparison.confidence,
        grid_rpm=joint.grid_rpm,
        torque_kind=comparison.torque_kind,
        baseline=comparison.baseline,
        reference_torque=joint.centre[base] * joint.reference / 100.0,
        resolution_rpm=joint.resolution_rpm,
        has_bands=curves.has_bands,
        seed=joint.seed,
        repeatability=None,
        builds=_builds(comparison, curves, peaks),
        differences=differences,
        effects=effects_of(comparison, curves, refusals),
        assumptions=(*_assumptions(comparison, joint, believed), *_unreached(curves, peaks)),
    )
    if not curves.has_bands:
        claims = decide_claims(comparison.claims, curves, None, refusals)
        return replace(plain, claims=claims, refusals=tuple(refusals))
    return _with_doubt(comparison, joint, curves, plain, refusals)


def _with_doubt(
    comparison: Comparison, joint: JointDraws, curves: DrawnCurves, plain: Findings, refusals: list[Refusal]
) -> Findings:
    """What needs a measure of scatter."""
    plans = planning(comparison, joint, curves.speed_rpm)
    pairs = [(one.of, one.from_) for one in plain.differences]
    # Without a repeated pull, what a session misses is not known from the session.
    seen = detectable_gains(curves, plans.design, pairs, comparison.windows) if joint.degrees_of_freedom else ()
    claims = decide_claims(comparison.claims, curves, plans, refusals)
    ratio = selfcheck_ratio(comparison, joint)
    return replace(
        plain,
        repeatability=repeatability_of(joint, curves, ratio),
        differences=tuple(_with_detectable(one, seen) for one in plain.differences),
        interactions=interactions_of(comparison, curves),
        crossover_shifts=crossover_shifts(curves, plain.differences),
        claims=claims,
        bad_pulls=bad_pulls_of(comparison, joint),
        detectable=seen,
        refusals=tuple(refusals),
        assumptions=(*plain.assumptions, *unlike_model(ratio)),
    )


def _with_detectable(one: Difference, seen: Sequence[Detectable]) -> Difference:
    whole = next((gain.percent for gain in seen if (gain.of, gain.from_) == (one.of, one.from_)), None)
    return replace(one, detectable=whole)


def _run_pairs(comparison: Comparison, curves: DrawnCurves, refusals: list[Refusal]) -> list[tuple[str, str]]:
    """Pairs that were run; the others are told as refusals."""
    pairs: list[tuple[str, str]] = []
    for of, from_ in comparison.pairs:
        missing = tuple(dict.fromkeys(name for name in (of, from_) if name not in curves.cells))
        if missing:
            refusals.append(not_run(f"{of} - {from_}", missing))
        elif of == from_:
            refusals.append(itself(of))
        else:
            pairs.append((of, from_))
    return pairs


def _peaks(curves: DrawnCurves, refusals: list[Refusal]) -> dict[str, BuildPeaks]:
    """Peaks of all builds, empty in a relative session and where one may hide in a gap."""
    if curves.relative:
        return {}
    if len(curves.stretches) > 1:
        refusals.append(peaks_with_gap())
        return {}
    return {name: build_peaks(curves, name) for name in curves.cells}


def _builds(comparison: Comparison, curves: DrawnCurves, peaks: Mapping[str, BuildPeaks]) -> tuple[BuildFinding, ...]:
    found: list[BuildFinding] = []
    lever = curves.angular_speed
    for number, name in enumerate(curves.cells):
        pulls = [pull for pull in comparison.pulls if pull.build == name]
        centre = curves.centre[number]
        deviations = curves.draws[number] - centre[:, None]
        torque, power = curves.bands(centre, curves.limits(centre, deviations))
        own = peaks.get(name)
        found.append(
            BuildFinding(
                name=name,
                pulls=len(pulls),
                fittings=len({pull.fitting for pull in pulls}),
                torque=torque,
                power=power,
                peak_torque=None if own is None else peak_of(curves, name, own.torque),
                peak_power=None if own is None else peak_of(curves, name, own.power, lever),
            )
        )
    return tuple(found)


def _assumptions(comparison: Comparison, joint: JointDraws, believed: Believed) -> tuple[str, ...]:
    fittings = {(pull.build, pull.fitting) for pull in comparison.pulls}
    return assumptions(
        joint,
        believed,
        describe_design(comparison),
        each_pull_fitted=len(fittings) == len(comparison.pulls),
        timed=len({pull.time for pull in comparison.pulls}) > 1,
    )


def _unreached(curves: DrawnCurves, peaks: Mapping[str, BuildPeaks]) -> tuple[str, ...]:
    """Peaks at an end of the range."""
    ends: dict[tuple[str, int], list[str]] = {}
    for name, own in peaks.items():
        for quantity, index in (("torque", own.torque.index), ("power", own.power.index)):
            if index in (0, curves.speed_rpm.size - 1):
                ends.setdefault((quantity, index), []).append(name)
    return tuple(
        peak_at_end(builds, quantity, float(curves.speed_rpm[index])) for (quantity, index), builds in ends.items()
    )
