"""The headline: the session in one to three sentences, and the line under it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.publish.speeds import rpm, rpm_range
from pullbook.publish.zones import Sign, decided_signs, sign_zones
from pullbook.quantities.phrases import counted, listed
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from pullbook.publish.telling import Telling
    from pullbook.publish.zones import Zone
    from pullbook.records.finding import Difference

__all__ = ["deck", "headlines"]

_MOST = 2  # comparisons that a headline can hold


def headlines(telling: Telling) -> tuple[str, ...]:
    """Sentences about the comparisons that show most, the most important one first.

    Comparisons with the baseline come first, ordered by the largest decided share of torque.
    """
    findings = telling.findings
    if not findings.has_bands:
        return ("The curves are shown, but no uncertainty can be stated and no claim is decided.",)
    ordered = sorted(
        findings.differences, key=lambda gain: (gain.from_ != findings.baseline, -_decided_size(gain))
    )  # sorted() keeps the session's order where sizes are equal
    shown = [gain for gain in ordered if _decided_size(gain) > 0.0][:_MOST] or ordered[:1]
    if not shown:
        return ("No two builds could be compared.",)
    return tuple(_sentence(telling, gain, first=number == 0) for number, gain in enumerate(shown))


def _decided_size(difference: Difference) -> float:
    """Largest gain or loss that is certain, in per cent."""  # the end of the band nearer to zero
    band = difference.percent
    nearer = np.fmax(np.fmax(band.low, -band.high), 0.0)
    return float(np.nanmax(nearer)) if np.isfinite(nearer).any() else 0.0


def _sentence(telling: Telling, difference: Difference, *, first: bool) -> str:
    of, from_ = telling.named(difference.of), difference.from_
    than = f" than {telling.named(from_) if first else from_}"
    zones = sign_zones(difference.torque)
    signs = decided_signs(zones)
    if not signs:
        return f"Whether {of} makes more or less torque{than} is not decided at any engine speed."
    if len(signs) == 1:
        return _one_sided(telling, zones, f"{of} makes {'more' if signs[0] > 0 else 'less'} torque{than}")
    if len(signs) == 2 and len(difference.crossovers) == 1 and _one_change(zones):
        crossover = difference.crossovers[0]
        near = rpm(crossover.rpm, (crossover.high - crossover.low) / 2.0)
        below, above = ("less", "more") if signs[0] is Sign.LOSS else ("more", "less")
        return f"{of} makes {below} torque{than} below about {near} and {above} above it."
    gains, losses = (_ranges(telling, zones, sign) for sign in (Sign.GAIN, Sign.LOSS))
    return f"{of} makes more torque{than} {gains}, and less {losses}."


def _one_change(zones: tuple[Zone, ...]) -> bool:
    """Whether no undecided speeds lie within the gain or within the loss: else below and above would claim too much."""
    return sum(zone.sign is not Sign.OPEN for zone in zones) == len(decided_signs(zones))


def _one_sided(telling: Telling, zones: tuple[Zone, ...], start: str) -> str:
    decided = [zone for zone in zones if zone.sign is not Sign.OPEN]
    if len(zones) == 1:
        return f"{start} over the whole range, {rpm_range(*telling.ends_rpm)}."
    return f"{start} {_ranges(telling, zones, decided[0].sign)}; elsewhere the bands do not tell them apart."


def _ranges(telling: Telling, zones: tuple[Zone, ...], sign: Sign) -> str:
    grid = telling.findings.grid_rpm
    ranges = [
        f"at {rpm(float(grid[zone.first]))}" if zone.first == zone.last
        else f"from {rpm_range(float(grid[zone.first]), float(grid[zone.last]))}"
        for zone in zones if zone.sign is sign
    ]  # fmt: skip
    return listed(ranges)


def deck(telling: Telling) -> str:
    """How much was run and how many claims were decided."""
    result = telling.result
    used = sum(status.used for status in result.pulls)
    left_out = len(result.pulls) - used
    stand = "stands" if used == 1 else "stand"
    run = f"{counted(used, 'pull')} of {counted(len(telling.findings.builds), 'build')} {stand} behind this"
    run = run[0].upper() + run[1:] + (f", {counted(left_out, 'pull')} left out." if left_out else ".")
    claims = telling.findings.claims
    if not claims:
        return run
    words = {Verdict.SUPPORTED: "supported", Verdict.REFUTED: "refuted", Verdict.UNDETERMINED: "not decided"}
    if all(claim.verdict is Verdict.UNDETERMINED for claim in claims):
        return f"{run} {'The claim is not' if len(claims) == 1 else 'None of the claims is'} decided."
    counts = {verdict: sum(claim.verdict is verdict for claim in claims) for verdict in words}
    told = [f"{counted(count, '').strip()} is {words[verdict]}" if count == 1 else
            f"{counted(count, '', ' ').strip()} are {words[verdict]}"
            for verdict, count in counts.items() if count]  # fmt: skip
    total = counted(len(claims), "claim")
    return f"{run} Of {total}, {listed(told)}."
