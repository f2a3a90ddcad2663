"""Sentences about one build compared with another: where it gains, where it gives up, where the curves cross."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from pullbook.publish.speeds import rpm, rpm_range
from pullbook.publish.story import Paragraph, Tone
from pullbook.publish.zones import Sign, sign_zones
from pullbook.quantities.phrases import listed
from pullbook.records.curve import Interval

if TYPE_CHECKING:
    from pullbook.publish.figures import Measure
    from pullbook.publish.telling import Telling
    from pullbook.publish.zones import Zone
    from pullbook.records.curve import CurveBand
    from pullbook.records.finding import Crossover, Difference
    from pullbook.records.window import WindowGain

__all__ = ["crossover_words", "difference_paragraphs", "gain_words", "peak_paragraph", "window_paragraph"]


def gain_words(measure: Measure, gain: Interval, *, verb: bool = True) -> str:
    """Gain in words: "gains 9.0 ± 1.3 N m", "gives up ..." or, where the sign is not certain, the signed value.

    Parameters
    ----------
    measure : Measure
        How it is shown.
    gain : Interval
        The gain. [unit of the record]
    verb : bool
        Start with the verb.

    Returns
    -------
    str
        The words.

    Examples
    --------
    >>> from pullbook.publish.figures import Measure
    >>> gain_words(Measure.percent(), Interval(value=-3.0, low=-4.0, high=-2.0))
    'gives up 3.0 ± 1.0 %'
    """
    just = "only just " if verb and measure.barely(gain) else ""
    if gain.low > 0.0:
        return f"{just}{'gains ' if verb else ''}{measure.stated(gain)}"
    if gain.high < 0.0:
        return f"{just}{'gives up ' if verb else ''}{measure.stated(gain, mirrored=True)}"
    return measure.stated(gain, signed=True)


def crossover_words(of: str, from_: str, crossover: Crossover) -> str:
    """Sentence about a certified crossover.

    Examples
    --------
    >>> from pullbook.records.finding import Crossover
    >>> crossover_words("B", "A", Crossover(rpm=4183, low=3981, high=4369, zone_low=3950, zone_high=4400, sign_above=1))
    'B overtakes A between 3,980 and 4,370 rpm, most likely near 4,180 rpm.'
    """
    verb = "overtakes" if crossover.sign_above > 0 else "falls behind"
    half = (crossover.high - crossover.low) / 2.0
    between = rpm_range(crossover.low, crossover.high, "and")
    return f"{of} {verb} {from_} between {between}, most likely near {rpm(crossover.rpm, half)}."


def difference_paragraphs(telling: Telling, difference: Difference) -> tuple[Paragraph, ...]:
    """Sentences on where one build gains on the other and where it gives up, and on every crossover."""
    about = telling.pair(difference)
    zones = sign_zones(difference.torque)
    if not zones:
        return (_without_doubt(telling, difference),)
    if all(zone.sign is Sign.OPEN for zone in zones):
        return (*_undecided(telling, difference), *_possible(difference, about))
    decided = [zone for zone in zones if zone.sign is not Sign.OPEN]
    told = [Paragraph(text=_zone_words(telling, difference, zone), about=about, tone=Tone.DECIDED) for zone in decided]
    if len(decided) < len(zones):
        told.append(Paragraph(text=_open_words(telling, difference, zones), about=about, tone=Tone.OPEN))
    crossed = [
        Paragraph(text=crossover_words(difference.of, difference.from_, crossover), about=about, tone=Tone.DECIDED)
        for crossover in difference.crossovers
    ]
    return (*told[: len(decided)], *crossed, *told[len(decided) :], *_possible(difference, about))


def _zone_words(telling: Telling, difference: Difference, zone: Zone) -> str:
    grid = telling.findings.grid_rpm
    first, last = float(grid[zone.first]), float(grid[zone.last])
    where = f"At {rpm(first)}" if first == last else f"From {rpm_range(first, last)}"
    of, from_ = difference.of, difference.from_
    at = zone.first + int(np.argmax(zone.sign * difference.torque.mean[zone.first : zone.last + 1]))
    gain = _at(difference.torque, at)
    shown = telling.torque.stated(gain, mirrored=zone.sign is Sign.LOSS)
    if not telling.relative:
        percent = _at(difference.percent, at)
        shown = f"{shown} ({telling.torque.percent().stated(percent, mirrored=zone.sign is Sign.LOSS)})"
    verb = "gains" if zone.sign is Sign.GAIN else "gives up"
    verb = f"only just {verb}" if telling.torque.barely(gain) else verb
    joint = "on" if zone.sign is Sign.GAIN else "to"
    most = "" if first == last else f", most near {rpm(float(grid[at]))}"
    return f"{where} {of} {verb} torque {joint} {from_}{most}: {shown}."


def _open_words(telling: Telling, difference: Difference, zones: tuple[Zone, ...]) -> str:
    grid = telling.findings.grid_rpm
    places = [
        f"at {rpm(float(grid[zone.first]))}" if zone.first == zone.last
        else f"from {rpm_range(float(grid[zone.first]), float(grid[zone.last]))}"
        for zone in zones if zone.sign is Sign.OPEN
    ]  # fmt: skip
    which = f"which of {difference.of} and {difference.from_} makes more torque"
    return f"It is not decided {listed(places)} {which}."


def _at(band: CurveBand, index: int) -> Interval:
    return Interval(value=float(band.mean[index]), low=float(band.low[index]), high=float(band.high[index]))


def _undecided(telling: Telling, difference: Difference) -> tuple[Paragraph, ...]:
    seen = ""
    if difference.detectable is not None and math.isfinite(difference.detectable):
        seen = (
            f" A true mean difference of {telling.torque.percent().exact(round(difference.detectable, 2))} or more "
            f"would have been found in four of five such sessions."
        )
    text = (
        f"Anywhere from {rpm_range(*telling.ends_rpm)} it is not decided whether {difference.of} makes more or less "
        f"torque than {difference.from_}: the band of the difference contains zero throughout.{seen}"
    )
    return (Paragraph(text=text, about=telling.pair(difference), tone=Tone.OPEN),)


def _possible(difference: Difference, about: str) -> tuple[Paragraph, ...]:
    return tuple(
        Paragraph(
            text=(
                f"The mean curves of {difference.of} and {difference.from_} also meet between "
                f"{rpm_range(possible.low, possible.high, 'and')}, but the scatter allows that there is no crossover."
            ),
            about=about, tone=Tone.OPEN,
        )
        for possible in difference.possible_crossovers
    )  # fmt: skip


def _without_doubt(telling: Telling, difference: Difference) -> Paragraph:
    mean = difference.torque.mean
    low, high = (float(end) for end in (np.nanmin(mean), np.nanmax(mean)))
    bare = [telling.torque.stated(Interval(value=end, low=math.nan, high=math.nan), signed=True) for end in (low, high)]
    text = (
        f"The curve of {difference.of} lies {bare[0]} to {bare[1]} from that of {difference.from_}; no uncertainty can "
        f"be stated, so none of this is decided."
    )
    return Paragraph(text=text, about=telling.pair(difference), tone=Tone.OPEN)


def window_paragraph(telling: Telling, difference: Difference, window: WindowGain) -> Paragraph:
    """Sentence on the mean gain over an rpm window."""
    of, from_ = difference.of, difference.from_
    where = f"From {rpm_range(window.from_rpm, window.to_rpm)}"
    gain = window.torque
    more = [] if telling.relative else [gain_words(telling.torque.percent(), window.percent, verb=False)]
    if window.power is not None:
        more.append(gain_words(telling.power, window.power, verb=False))
    beside = f" ({', '.join(more)})" if more else ""
    about = telling.pair(difference)
    if not math.isfinite(gain.high - gain.low):
        text = (
            f"{where} the mean of {of} less that of {from_} is {telling.torque.stated(gain, signed=True)}; no "
            f"uncertainty can be stated."
        )
        return Paragraph(text=text, about=about, tone=Tone.OPEN)
    if gain.low <= 0.0 <= gain.high:
        text = f"{where} the mean gain of {of} on {from_} is not decided: {telling.torque.stated(gain, signed=True)}."
        return Paragraph(text=text, about=about, tone=Tone.OPEN)
    text = f"{where} {of} {gain_words(telling.torque, gain)}{beside} on average against {from_}."
    return Paragraph(text=text, about=about, tone=Tone.DECIDED)


def peak_paragraph(telling: Telling, difference: Difference) -> Paragraph | None:
    """Sentence on the gain at the peaks; None where the session has no peaks."""
    of, from_ = difference.of, difference.from_
    parts = []
    for quantity, measure, gain in (
        ("torque", telling.torque, difference.peak_torque),
        ("power", telling.power, difference.peak_power),
    ):
        if gain is None or not math.isfinite(gain.value):
            continue
        if not math.isfinite(gain.high - gain.low):
            bare = measure.stated(gain, signed=True)
            parts.append(f"the peak {quantity} of {of} less that of {from_} is {bare}, no uncertainty can be stated")
        elif gain.low <= 0.0 <= gain.high:
            open_by = measure.stated(gain, signed=True)
            parts.append(f"which of {of} and {from_} has the higher peak {quantity} is not decided: {open_by}")
        else:
            side = "higher" if gain.low > 0.0 else "lower"
            shown = measure.stated(gain, mirrored=gain.high < 0.0)
            just = ", only just" if measure.barely(gain) else ""
            parts.append(f"the peak {quantity} of {of} is {shown} {side} than that of {from_}{just}")
    if not parts:
        return None
    text = "; ".join(parts)
    text = f"{text[0].upper()}{text[1:]}."
    return Paragraph(text=text, about=telling.pair(difference))
