"""Sentences about claims, effects of one factor, interactions and moved crossovers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullbook.publish.differences import gain_words
from pullbook.publish.figures import Measure
from pullbook.publish.speeds import rpm_range, rpm_stated
from pullbook.publish.story import Paragraph, Tone
from pullbook.publish.zones import Sign, sign_zones
from pullbook.quantities.phrases import listed
from pullbook.records.curve import Interval
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.publish.telling import Telling
    from pullbook.records.declaration import Claim
    from pullbook.records.effect import CrossoverShift, Effect, Interaction
    from pullbook.records.verdict import ClaimFinding

__all__ = [
    "VERDICT_WORDS",
    "claim_limit",
    "claim_paragraph",
    "claim_place",
    "claim_reason",
    "claim_shown",
    "effect_paragraphs",
    "interaction_paragraph",
    "rpm_signed",
    "shift_paragraphs",
]

VERDICT_WORDS = {
    Verdict.SUPPORTED: "supported",
    Verdict.REFUTED: "refuted",
    Verdict.UNDETERMINED: "not decided",
}


def claim_limit(telling: Telling, claim: Claim, finding: ClaimFinding) -> tuple[str, float]:
    """The number that a claim stands or falls with: in words, and as a value.

    Parameters
    ----------
    telling : Telling
        The result.
    claim : Claim
        As declared.
    finding : ClaimFinding
        Its verdict.

    Returns
    -------
    words : str
        As in "at least 8 kW".
    limit : float
        The number. [unit of the finding]
    """
    kinds = (("at least", claim.at_least), ("at most", claim.at_most), ("within", claim.within))
    word, limit = next((word, limit) for word, limit in kinds if limit is not None)
    scaled = limit * 100.0 if claim.in_percent else limit
    return f"{word} {Measure.named(finding.unit, telling.system).exact(scaled)}", scaled


def claim_shown(telling: Telling, finding: ClaimFinding) -> str:
    """Estimate and interval of a claim, as in "9.1 kW (8.2 to 10.0)"."""
    measure = Measure.named(finding.unit, telling.system)
    interval = Interval(value=finding.estimate, low=finding.low, high=finding.high)
    if not math.isfinite(finding.estimate):
        return "no estimate"
    if not math.isfinite(finding.high - finding.low):
        return f"{measure.stated(interval, signed=True)}, no uncertainty can be stated"
    return f"{measure.stated(interval, signed=True)}"


def claim_paragraph(telling: Telling, finding: ClaimFinding) -> Paragraph:
    """Verdict on a claim, with its number, the reason and what would decide it."""
    claim = next(claim for claim in telling.session.claims if claim.id == finding.id)
    limit, _ = claim_limit(telling, claim, finding)
    verdict = VERDICT_WORDS[finding.verdict]
    shown = f"The pulls show {claim_shown(telling, finding)}. " if math.isfinite(finding.estimate) else ""
    text = (
        f"\u201c{claim.says.rstrip('.')}\u201d ({limit} {claim_place(claim)}, {claim.of} against {claim.from_}): "
        f"{verdict}. {shown}{claim_reason(finding)}"
    ).rstrip()
    tone = Tone.OPEN if finding.verdict is Verdict.UNDETERMINED else Tone.DECIDED
    return Paragraph(text=text, about=finding.id, tone=tone)


def claim_reason(finding: ClaimFinding) -> str:
    """Reason of the verdict and what would decide it, each as a sentence; they name no torque and no power."""
    parts = (part.strip().rstrip(".") for part in (finding.why, finding.needs))
    return " ".join(f"{part[0].upper()}{part[1:]}." for part in parts if part)


def claim_place(claim: Claim) -> str:
    """Where a claim is about, as in "from 5,000 to 6,500 rpm"."""
    if claim.where is None:
        return f"of peak {claim.quantity}"
    low, high = claim.where
    if low == high:
        return f"of {claim.quantity} at {rpm_range(low, high).partition(' to ')[2]}"
    return f"of {claim.quantity} from {rpm_range(low, high)}"


def effect_paragraphs(telling: Telling, effect: Effect) -> tuple[Paragraph, ...]:
    """What one factor does with the others held, over the windows."""
    change = f"{effect.factor} from {effect.from_level} to {effect.to_level}"
    if effect.torque is None:
        text = f"What changing {change} does cannot be told apart from {effect.aliased_with or 'the other changes'}."
        return (Paragraph(text=text, about=effect.factor, tone=Tone.OPEN),)
    zones = sign_zones(effect.torque)
    grid = telling.findings.grid_rpm
    parts = [
        f"{'gains torque' if zone.sign is Sign.GAIN else 'gives up torque'} from "
        f"{rpm_range(float(grid[zone.first]), float(grid[zone.last]))}"
        for zone in zones if zone.sign is not Sign.OPEN
    ]  # fmt: skip
    held = "with everything else held"
    if not parts:
        text = f"Whether changing {change}, {held}, gains or gives up torque is not decided at any speed."
        return (Paragraph(text=text, about=effect.factor, tone=Tone.OPEN),)
    text = f"Changing {change}, {held}, {' and '.join(parts)}{_effect_windows(telling, effect)}."
    return (Paragraph(text=text, about=effect.factor, tone=Tone.DECIDED),)


def _effect_windows(telling: Telling, effect: Effect) -> str:
    decided = [window for window in effect.windows if not window.torque.low <= 0.0 <= window.torque.high]
    told = [
        f"{gain_words(telling.torque, window.torque)} from {rpm_range(window.from_rpm, window.to_rpm)}"
        for window in decided
    ]
    return f"; on average it {listed(told)}" if told else ""


def interaction_paragraph(telling: Telling, interaction: Interaction) -> Paragraph:
    """Whether a change acts the same at two levels of another factor."""
    change = f"{interaction.factor} from {interaction.from_level} to {interaction.to_level}"
    other = f"{interaction.with_factor} {interaction.level} and {interaction.other_level}"
    if interaction.differs and interaction.differs_from_rpm is not None and interaction.differs_to_rpm is not None:
        where = rpm_range(interaction.differs_from_rpm, interaction.differs_to_rpm)
        text = f"Changing {change} does not act the same with {other}: its gain differs between them from {where}."
        return Paragraph(text=text, about=interaction.factor, tone=Tone.DECIDED)
    proved = telling.torque.below(interaction.smallest_margin) if math.isfinite(interaction.smallest_margin) else ""
    text = (
        f"Whether changing {change} acts exactly the same with {other} is not decided. What is proved: over the whole "
        f"range its gains with the two differ by less than {proved}; a smaller margin would need more pulls."
        if proved else
        f"Whether changing {change} acts the same with {other} is not decided, and no margin can be proved."
    )  # fmt: skip
    return Paragraph(text=text, about=interaction.factor, tone=Tone.OPEN)


def shift_paragraphs(shifts: Sequence[CrossoverShift]) -> Iterator[Paragraph]:
    """How far the crossover of one comparison lies from that of another; those left open share one sentence."""
    still_open: list[str] = []
    for shift in shifts:
        first, second = (f"{of} with {from_}" for of, from_ in (shift.first, shift.second))
        moved = shift.shift
        if moved.low <= 0.0 <= moved.high:
            still_open.append(f"{second} and {first} ({rpm_signed(moved.low)} to {rpm_signed(moved.high)} rpm)")
            continue
        side = "lower" if moved.value < 0.0 else "higher"
        text = f"The crossover of {second} lies {rpm_stated(moved)} {side} than that of {first}."
        yield Paragraph(text=text, tone=Tone.DECIDED)
    if still_open:
        text = f"Whether these cross at different speeds is not decided: {', '.join(still_open)}."
        yield Paragraph(text=text, tone=Tone.OPEN)


def rpm_signed(speed: float) -> str:
    """Difference of speeds with its sign, to the ten rpm, as in "+170"."""
    return f"{round(speed, -1):+,.0f}"
