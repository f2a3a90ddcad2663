"""Sentences of the findings. They name no torque and no power, so that they are the same in all units."""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

from pullbook.compare.prior import allowance_of
from pullbook.curves.reml_prior import ScatterPrior
from pullbook.quantities.phrases import listed
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.compare.design import DesignReport
    from pullbook.compare.history import Believed
    from pullbook.curves.archive_prior import ScatterBelief
    from pullbook.curves.joint import JointDraws
    from pullbook.records.declaration import Claim

__all__ = [
    "assumptions",
    "claim_why",
    "history_words",
    "needs_fittings",
    "needs_none",
    "needs_pulls",
    "peak_at_end",
    "refit_word",
    "unlike_model",
]

#: Ratio of half-widths beyond which the model of the scatter is doubted.
WIDEST_RATIO = 1.25


def _subject(claim: Claim) -> str:
    """What a claim is about, without its number."""
    where = claim.where
    if where is None:
        return "the gain from peak to peak"
    if where[0] == where[1]:
        return f"the gain at {where[0]:,.0f} rpm"
    if claim.within is None:
        return f"the mean gain from {where[0]:,.0f} to {where[1]:,.0f} rpm"
    return f"the gain at every speed from {where[0]:,.0f} to {where[1]:,.0f} rpm"


def claim_why(claim: Claim, verdict: Verdict, adjusted: float, asked: int) -> str:
    """Why a claim got its verdict.

    Parameters
    ----------
    claim : Claim
        The claim. [rpm]
    verdict : Verdict
        The verdict.
    adjusted : float
        Probability after Holm. [1]
    asked : int
        Number of claims in the family.

    Returns
    -------
    str
        One sentence without torque or power.
    """
    among = f", after allowing for {asked} claims" if asked > 1 else ""
    # Rounded up and never shown as zero: the draws resolve no less than one in their number.
    p = f"p = {adjusted:.2g}{among}"
    subject = _subject(claim)
    if claim.same_as is not None:
        subject = f"{subject}, less that of {claim.same_as[0]} over {claim.same_as[1]},"
    if verdict is Verdict.UNDETERMINED:
        return f"The pulls leave it open on which side of the number claimed {subject} lies ({p})."
    if claim.within is not None:
        side = "stays within" if verdict is Verdict.SUPPORTED else "leaves"
        subject = subject.replace("the gain at every speed", "the gain") if verdict is Verdict.REFUTED else subject
        somewhere = "" if verdict is Verdict.SUPPORTED or claim.where is None else " somewhere"
        return f"{subject[0].upper()}{subject[1:]} {side} the margin claimed{somewhere} ({p})."
    above = (claim.at_least is not None) == (verdict is Verdict.SUPPORTED)
    return f"{subject[0].upper()}{subject[1:]} lies {'above' if above else 'below'} the number claimed ({p})."


def needs_pulls(builds: Sequence[str], more: int) -> str:
    """More pulls in the fittings that were made would do."""
    pulls = "pull" if more == 1 else "pulls"
    return f"About {more} more {pulls} each of {listed(builds)} would decide it, if the gain stays what it is."


def needs_fittings(builds: Sequence[str], more: int, pulls: int) -> str:
    """Only more fittings would do."""
    times = "once" if more == 1 else f"{more} times"
    each = "one pull" if pulls == 1 else f"{pulls} pulls"
    return (
        f"No number of pulls on one fitting would decide it: fit {listed(builds)} again, in turn, about {times} each, "
        f"with {each} a fitting, if the gain stays what it is."
    )


def needs_none(builds: Sequence[str], most: int) -> str:
    """Nothing reasonable would do."""
    return (
        f"Not even {most} more fittings each of {listed(builds)} would decide it: the gain lies too close to the "
        "number claimed."
    )


def peak_at_end(builds: Sequence[str], quantity: str, rpm: float) -> str:
    """Peaks that were not reached."""
    its, value = ("its peak was", "the value is") if len(builds) == 1 else ("their peaks were", "the values are")
    return (
        f"The {quantity} of {listed(builds)} is highest at the end of the range, {rpm:,.0f} rpm: {its} perhaps not "
        f"reached, and {value} the highest that {'was' if len(builds) == 1 else 'were'} measured."
    )


def refit_word(joint: JointDraws, prior: ScatterBelief) -> str:
    """What is known of re-fitting."""
    alike = "One fitting of each build: the effect of a part and the scatter of re-fitting it cannot be told apart. "
    what = "The standard deviation of re-fitting is"
    if isinstance(prior, ScatterPrior):
        scale = prior.refit_scale
        if joint.refit_assumed:
            return f"{alike}{what} assumed, not measured (half-Cauchy, scale {scale:g} %)."
        return f"{what} learnt from the session, from a half-Cauchy of scale {scale:g} %."
    usual = exp(prior.refit.location)
    if joint.refit_assumed:
        return f"{alike}{what} that of earlier sessions, usually {usual:.2g} %."
    return f"{what} learnt from this and earlier sessions, usually {usual:.2g} %."


def history_words(believed: Believed) -> tuple[str, ...]:
    """What earlier sessions were used for, in a sentence; none where there are none.

    Parameters
    ----------
    believed : Believed
        What was believed of the scatter, and whether it held.

    Returns
    -------
    tuple of str
        One sentence, or none.
    """
    if not believed.sessions:
        return ()
    whose = f"{believed.sessions} earlier sessions"
    conflict = believed.conflict
    if conflict is None:
        return (f"Repeatability is taken from {whose}; this session cannot check it.",)
    today = f"Today's scatter is {conflict.ratio:.2g} times the usual of {whose} (p = {conflict.p:.2g})"
    if conflict.dropped:
        return (f"{today}: they are not used.",)
    return (f"{today}: how far pulls, re-fittings and the day scatter is learnt from those and from this one.",)


def _drift_words(prior: ScatterBelief) -> str:
    if isinstance(prior, ScatterPrior):
        return f"half-normal of {prior.drift_scale:g} %/h and {prior.walk_scale:g} % per square root of an hour"
    drift, walk = exp(prior.drift.location), exp(prior.walk.location)
    return f"about {drift:.2g} %/h and {walk:.2g} % per square root of an hour, from earlier sessions"


def assumptions(
    joint: JointDraws, believed: Believed, report: DesignReport, *, each_pull_fitted: bool, timed: bool
) -> tuple[str, ...]:
    """Everything that the findings rest on beside the pulls.

    Parameters
    ----------
    joint : JointDraws
        The draws. [%]
    believed : Believed
        What was believed of the scatter. [%]
    report : DesignReport
        What the builds and their order cannot tell apart.
    each_pull_fitted : bool
        Every pull is a fitting of its own.
    timed : bool
        The pulls have different times.

    Returns
    -------
    tuple of str
        One sentence or two each.
    """
    prior = believed.prior
    said: list[str] = list(history_words(believed))
    if each_pull_fitted and prior.from_archive:
        said.append(
            "Every pull is a fitting of its own: only earlier sessions tell re-fitting from what else scatters."
        )
    elif each_pull_fitted:
        said.append("Every pull is a fitting of its own, so that the scatter of re-fitting is part of that of a pull.")
    else:
        said.append(refit_word(joint, prior))
        said += () if joint.refit_assumed else report.refit
    if joint.drift_assumed:
        said.append("No build was returned to: the effect of a part and the drift of the day cannot be told apart.")
    else:
        said += report.drift
    if timed:
        said.append(
            "The drift of the day is a line and a random walk that change torque by the same share at all speeds; "
            f"before the pulls were looked at, {_drift_words(prior)}. The curve of a build is that of the middle of "
            "the session: what the day does to all builds alike is not in its band, and cancels in a difference."
        )
    said += (*report.mixed, *report.untested)
    said.append("What scatters from pull to pull is taken as normal and smooth over speed.")
    wider = 100.0 * (allowance_of(prior) - 1.0)
    if wider > 0.0:
        said.append(f"Every doubt is made {wider:.0f} % wider, for what such a model leaves out.")
    return tuple(said)


def unlike_model(ratio: float | None) -> tuple[str, ...]:
    """Warning where the independent method disagrees with the model of the scatter.

    Parameters
    ----------
    ratio : float or None
        Half-width of the band over that of the independent method. [1]

    Returns
    -------
    tuple of str
        One sentence, or none.
    """
    if ratio is None or 1.0 / WIDEST_RATIO <= ratio <= WIDEST_RATIO:
        return ()
    how = "wider" if ratio > 1.0 else "narrower"
    said = (
        "The scatter of these pulls is not like the model of it: the bands are "
        f"{max(ratio, 1.0 / ratio):.2f} times {how} than those of an independent method."
    )
    return (said,)
