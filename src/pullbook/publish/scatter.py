"""Sentences about doubt itself: repeatability, what would have been seen, odd pulls, pulls left out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullbook.publish.figures import Measure
from pullbook.publish.speeds import rpm_range
from pullbook.publish.story import Paragraph, Tone
from pullbook.quantities.phrases import listed
from pullbook.quantities.rounding import digits
from pullbook.records.check import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.publish.telling import Telling
    from pullbook.records.finding import Difference
    from pullbook.records.result import PullStatus
    from pullbook.records.window import WindowGain

__all__ = ["both_results", "check_paragraphs", "left_out_paragraphs", "pull_named", "scatter_paragraphs"]


def scatter_paragraphs(telling: Telling) -> tuple[Paragraph, ...]:
    """Repeatability, re-fitting, drift, and what this session could have seen."""
    findings = telling.findings
    odd = (
        Paragraph(
            text=(
                f"Pull {odd.pull} of {odd.build} does not agree with the others of its build from "
                f"{rpm_range(odd.from_rpm, odd.to_rpm)}: chance alone would do so in {_chance(odd.p)}. Look at it "
                f"before relying on {odd.build}; it is used as long as nobody leaves it out."
            ),
            about=odd.pull,
            tone=Tone.WARNING,
        )
        for odd in findings.bad_pulls
    )
    return (*_repeatability(telling), *_history(telling), *_detectable(telling), *odd)


def _history(telling: Telling) -> Iterator[Paragraph]:
    """What was made of earlier sessions; a warning where they were asked and are not used."""
    known = telling.findings.repeatability
    used = known is not None and known.from_archive
    for says in telling.result.from_history:
        yield Paragraph(text=says, tone=Tone.PLAIN if used else Tone.WARNING)


def _detectable(telling: Telling) -> Iterator[Paragraph]:
    """One sentence for all pairs, each over all of its windows."""
    pairs: dict[tuple[str, str], list[float]] = {}
    for seen in telling.findings.detectable:
        pairs.setdefault((seen.of, seen.from_), []).append(seen.percent)
    told = []
    for (of, from_), shares in pairs.items():
        low, high = digits(min(shares), 1), digits(max(shares), 1)
        told.append(
            f"{low} % between {of} and {from_}" if low == high else f"{low} to {high} % between {of} and {from_}"
        )
    if told:
        yield Paragraph(text=(
            f"A true mean difference over a window of {listed(told)} would have been found in four of five such "
            f"sessions; a smaller one can easily be missed."
        ))  # fmt: skip


def _chance(probability: float) -> str:
    return (
        "less than 1 of 1,000 sessions" if probability < 0.001 else f"{digits(1000 * probability, 0)} of 1,000 sessions"
    )


def _repeatability(telling: Telling) -> Iterator[Paragraph]:
    known = telling.findings.repeatability
    if known is None:
        text = "How well a pull repeats on this bench is not known, so no uncertainty can be stated for anything here."
        yield Paragraph(text=text, tone=Tone.OPEN)
        return
    percent = Measure.percent()
    archive = " Earlier sessions of this bench were used to know this." if known.from_archive else ""
    yield Paragraph(text=(
        f"One pull scatters by {percent.stated(known.sd)} of torque (standard deviation). Two pulls of one fitting "
        f"differ by less than {digits(known.r, 1)} % in 95 of 100 cases (repeatability limit of ISO 5725-6).{archive}"
    ))  # fmt: skip
    source = "which is assumed, because no build was fitted twice" if known.refit_assumed else "as this session shows"
    if known.from_archive:
        source = "as earlier sessions let expect" if known.refit_assumed else "as this and earlier sessions show"
    yield Paragraph(text=(
        f"Taking parts off and fitting them again adds a scatter of {percent.stated(known.refit_sd)}, {source}."
    ), tone=Tone.WARNING if known.refit_assumed else Tone.PLAIN)  # fmt: skip
    drift = known.drift_per_hour
    if math.isfinite(drift.value):
        sure = "" if drift.low <= 0.0 <= drift.high else " and is not chance"
        yield Paragraph(text=(
            f"Over the session the level drifted by {percent.stated(drift, signed=True)} an hour{sure}; the comparison "
            f"allows for it."
        ))  # fmt: skip
    ratio = known.self_check_ratio
    if ratio is not None and abs(ratio - 1.0) > 0.25:
        yield Paragraph(text=(
            f"The bands are {digits(ratio, 2)} times as wide as those of a second, independent method: the scatter of "
            f"these pulls is not like the model. Take the bands with care."
        ), tone=Tone.WARNING)  # fmt: skip


def pull_named(status: PullStatus) -> str:
    """Pull with its build and time, as in "pulls/b3.csv (B, 09:40)"."""
    clock = f", {status.clock}" if status.clock else ""
    return f"{status.pull.name} ({status.build}{clock})"


def _reason(telling: Telling, status: PullStatus) -> str:
    return status.reason(telling.system).rstrip(".") or "no reason was given"


def left_out_paragraphs(telling: Telling) -> tuple[Paragraph, ...]:
    """Each pull that is not in the findings with its reason, and what it would have changed."""
    left_out = [status for status in telling.result.pulls if not status.used]
    told = [
        Paragraph(
            text=f"{pull_named(status)} was left out: {_reason(telling, status)}.",
            about=status.pull.name, tone=Tone.WARNING,
        ) for status in left_out
    ]  # fmt: skip
    pairs = list(both_results(telling))
    told += [Paragraph(text=_both_words(telling, *pair)) for pair in pairs]
    if left_out and not pairs:
        told.append(Paragraph(text="What they would have changed cannot be given: no result with them could be made."))
    return tuple(told)


def both_results(telling: Telling) -> Iterator[tuple[Difference, WindowGain, WindowGain]]:
    """Mean gains without and with the pulls that were left out, for each comparison they touch."""
    other = telling.result.findings_with_all
    if other is None:
        return
    touched = {status.build for status in telling.result.pulls if not status.used}
    kept = {(difference.of, difference.from_): difference for difference in other.differences}
    for difference in telling.findings.differences:
        twin = kept.get((difference.of, difference.from_))
        if twin is None or not touched & {difference.of, difference.from_}:
            continue
        windows = {(window.from_rpm, window.to_rpm): window for window in twin.windows}
        for window in difference.windows:
            same = windows.get((window.from_rpm, window.to_rpm))
            if same is not None:
                yield difference, window, same


def _both_words(telling: Telling, difference: Difference, without: WindowGain, with_all: WindowGain) -> str:
    where = rpm_range(without.from_rpm, without.to_rpm)
    shown = [telling.torque.stated(window.torque, signed=True) for window in (without, with_all)]
    pair = f"{difference.of} against {difference.from_}"
    if shown[0] == shown[1]:
        return f"{pair}, mean from {where}: {shown[0]}, the same with every pull kept."
    return f"{pair}, mean from {where}: {shown[0]}; with every pull kept {shown[1]}."


def check_paragraphs(telling: Telling) -> tuple[Paragraph, ...]:
    """Checks that ask for a look, with what to do and what they could fake."""
    told = []
    for check in telling.result.checks:
        if check.level is Level.OK:
            continue
        subject = f"{check.pull}: " if check.pull else ""
        fake = ""
        if check.could_explain is not None:
            fake = f" This alone could explain a torque change of {digits(check.could_explain, 1)} %."
        remedy = f" {check.remedy[0].upper()}{check.remedy[1:].rstrip('.')}." if check.remedy else ""
        text = f"{subject}{check.worded(telling.system).rstrip('.')}.{fake}{remedy}"
        told.append(Paragraph(text=text, about=check.pull, tone=Tone.WARNING))
    return tuple(told)
