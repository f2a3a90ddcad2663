"""Sentences about how the findings were made, what was assumed, and what to take care of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.publish.speeds import rpm, rpm_range
from pullbook.publish.story import Paragraph, Tone
from pullbook.quantities.phrases import counted, listed
from pullbook.quantities.rounding import digits
from pullbook.quantities.showing import show
from pullbook.quantities.units import Dimension
from pullbook.records.declaration import Standard
from pullbook.records.pull import Direction
from pullbook.records.session import Dyno

if TYPE_CHECKING:
    from pullbook.publish.telling import Telling
    from pullbook.records.session import Session

__all__ = ["CAUTIONS", "assumption_paragraphs", "method_paragraphs", "question_paragraphs", "standard_words"]

CAUTIONS: Final = (
    (
        "These are findings about one engine on one bench. Another engine, fuel, altitude or calibration may "
        "answer the same change differently; nothing here is a promise."
    ),
    (
        "A change of intake, exhaust or camshaft can move mixture and knock. Watch lambda, knock, exhaust "
        "temperature and oil pressure before copying it, and stay within the limits of whoever built the engine; "
        "leaning out or advancing to chase a number destroys engines."
    ),
    (
        "During a pull, shafts, couplings, flywheels and tyres store enough energy to kill. Fit the guards, keep "
        "everybody out of the plane of rotation, and try the speed limiter and the emergency stop first."
    ),
    (
        "Fuel, hot oil and ignition share one room: keep extinguishers at the exits and a fuel shut-off outside, "
        "and check hoses after every change of parts. Manifolds burn skin for many minutes after the last pull."
    ),
    (
        "Exhaust gas is poisonous and cannot be smelt: lead it outside, ventilate, and hang a carbon monoxide "
        "alarm at breathing height. Open exhausts harm hearing within minutes: wear double protection."
    ),
    (
        "Taking off or defeating emission or noise equipment of a road vehicle is against the law in many places. "
        "What the law and the track where you are say about noise and emissions goes before anything on this "
        "page."
    ),
)


def standard_words(telling: Telling) -> str:
    """What the findings are corrected to, as in "SAE J1349" or "as observed"."""
    standard = telling.session.standard
    return "as observed, not corrected" if standard is Standard.NONE else f"corrected to {standard}"


def question_paragraphs(telling: Telling) -> tuple[Paragraph, ...]:
    """What was asked, and what was run to answer it."""
    session, result = telling.session, telling.result
    told = [Paragraph(text=session.question)] if session.question else []
    where = (
        "an engine dynamometer, at the crank" if session.dyno is Dyno.ENGINE else "a chassis dynamometer, at the wheels"
    )
    when = f" on {session.date.day} {session.date:%B %Y}" if session.date else ""
    engine = f" The engine: {session.engine.name}." if session.engine.name else ""
    count = counted(len(result.pulls), "pull")
    builds = counted(len({status.build for status in result.pulls}), "build")
    told.append(Paragraph(text=(
        f"{count[0].upper()}{count[1:]} of {builds} were made{when} on {where}.{engine} Torque and power are "
        f"{standard_words(telling)}. The baseline is {telling.named(session.baseline.name)}."
        if not telling.relative else
        f"{count[0].upper()}{count[1:]} of {builds} were made{when} on {where}.{engine} The load signal is not "
        f"calibrated, so that everything is told in per cent of the baseline, {telling.named(session.baseline.name)}."
    )))  # fmt: skip
    if session.notes:
        told.append(Paragraph(text=session.notes))
    return tuple(told)


def method_paragraphs(telling: Telling) -> tuple[Paragraph, ...]:
    """How the findings were made, in plain words."""
    session, findings = telling.session, telling.findings
    told = []
    if session.standard is not Standard.NONE and not telling.relative:
        told.append(f"Every pull was brought to the same air by {session.standard}, each from its own weather.")
    told += _received(session)
    if session.inertia is not None:
        told.append(
            f"Torque that goes into accelerating {show(session.inertia, Dimension.INERTIA, telling.system)} of "
            f"rotating inertia was added back, so that pulls of different sweep rate compare."
        )
    elif not telling.relative and _swept(telling):
        told.append(
            "No inertia is given, so that what a sweep spends on speeding the engine up was not added back: torque and "
            "power read low by it. Pulls of the same sweep rate lose the same, and it falls out of their differences."
        )
    told.append(
        f"Curves are compared from {rpm_range(*telling.ends_rpm)}, the range that all pulls share. "
        f"{_resolution(telling)}"
    )
    if findings.has_bands:
        level = digits(100.0 * findings.confidence, 0)
        told.append(
            f"A band holds over the whole curve at once in {level} of 100 such sessions, which makes it wider than a "
            f"band drawn point by point. Where the band of a difference contains zero, the sign is called not decided; "
            f"that is never the same as no difference."
        )
        told.append(
            f"A crossover is certified where the band is clear of zero on both sides of it; its range of speed is a "
            f"{level} % interval. A crossing of two mean curves without that is only called possible."
        )
    if findings.has_bands and findings.claims:
        told.append(
            "Claims are tested together, so that the risk of any false verdict is held to "
            f"{digits(100.0 * (1.0 - findings.confidence), 0)} % for the whole list (Holm); an interval shown beside a "
            f"claim is that of the single claim."
        )
    if findings.has_bands:
        told.append(f"The draws start from {findings.seed}, a hash of the data: the same files give the same digits.")
    return tuple(Paragraph(text=text) for text in told)


def _received(session: Session) -> list[str]:
    """What files came corrected to another standard, if any."""
    came = sorted({str(entry.received) for entry in session.pulls} - {str(Standard.NONE), str(session.standard)})
    every = "Every file" if all(str(entry.received) in came for entry in session.pulls) else "Some files"
    return [f"{every} came corrected to {listed(came)}; that was taken out first, with the same air."] if came else []


def _swept(telling: Telling) -> bool:
    return any(status.used and status.pull.direction is not Direction.STEPS for status in telling.result.pulls)


def _resolution(telling: Telling) -> str:
    """How fine a difference of two curves can be seen."""
    finest, (low, high) = telling.findings.resolution_rpm, telling.ends_rpm
    if finest < 0.5 * (high - low):
        return f"Features narrower than about {rpm(finest, 100.0)} are smoothed."
    return (
        "The points of a pull are so few that builds are told apart only by broad differences, about half the range "
        "wide or more; what is narrower is smoothed."
    )


def assumption_paragraphs(telling: Telling) -> tuple[Paragraph, ...]:
    """What was assumed and cannot be checked from these pulls; flags of corrections stand here too."""
    told = [Paragraph(text=text) for text in telling.findings.assumptions]
    flags: dict[str, list[str]] = {}
    for status in telling.result.pulls:
        for flag in (*status.corrected.flags, *status.pull.doubts):
            flags.setdefault(flag, []).append(status.pull.name)
    every = len(telling.result.pulls)
    for flag, pulls in flags.items():
        where = "" if len(pulls) == every else f" ({', '.join(pulls)})"
        told.append(Paragraph(text=f"{flag.rstrip('.')}{where}.", tone=Tone.WARNING))
    return tuple(told)
