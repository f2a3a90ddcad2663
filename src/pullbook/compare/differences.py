"""One build compared with another: gain over speed, crossovers, windows and peaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.drawn import gain_of, spread_interval, uneven_interval
from pullbook.compare.refusals import crossover_in_gap, window_outside
from pullbook.curves.crossings import certain_crossings, inversion_interval, nearest_crossings, possible_zones
from pullbook.curves.windows import classical_interval, mean_over
from pullbook.records.curve import Interval
from pullbook.records.effect import CrossoverShift
from pullbook.records.finding import Crossover, Difference, PossibleCrossover
from pullbook.records.window import WindowGain

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.compare.drawn import DrawnCurves, Gain
    from pullbook.compare.peaks import BuildPeaks
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import ComparablePull, Comparison
    from pullbook.records.verdict import Refusal

__all__ = ["crossover_shifts", "difference", "window_gains"]


def difference(
    comparison: Comparison,
    curves: DrawnCurves,
    pair: tuple[str, str],
    peaks: Mapping[str, BuildPeaks],
    refusals: list[Refusal],
) -> Difference:
    """Everything that the draws say about one pair of builds.

    Parameters
    ----------
    comparison : Comparison
        The question, whose windows and pulls are used. [rpm]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    pair : tuple of (str, str)
        The builds, as (of, from).
    peaks : mapping of str to BuildPeaks
        Peaks of each build; empty where peaks are not stated. [N m, W]
    refusals : list of Refusal
        Questions that the data cannot answer are added to it.

    Returns
    -------
    Difference
        Without `detectable`, which needs the design.

    Notes
    -----
    The pair in the other order gives the same numbers with the sign reversed, to the last bit; only `percent` changes
    with the build that it is a share of: (1 + p/100)(1 + p'/100) = 1 at every speed.
    """
    of, from_ = pair
    gain = gain_of(curves, {of: 1.0, from_: -1.0})
    limits = curves.limits(gain.centre, gain.deviations)
    torque, power = curves.bands(gain.centre, limits)
    certain, possible = _crossovers(curves, gain, limits, pair, refusals)
    windows = window_gains(comparison, curves, gain, f"{of} - {from_}", refusals)
    return Difference(
        of=of,
        from_=from_,
        torque=torque,
        power=power,
        percent=curves.band(*gain.percent()),
        crossovers=certain,
        possible_crossovers=possible,
        windows=tuple(_with_classical(window, comparison, curves, pair) for window in windows),
        peak_torque=_peak_gain(curves, peaks, pair, "torque"),
        peak_power=_peak_gain(curves, peaks, pair, "power"),
    )


def _peak_gain(
    curves: DrawnCurves, peaks: Mapping[str, BuildPeaks], pair: tuple[str, str], quantity: str
) -> Interval | None:
    if not peaks:
        return None
    of, from_ = (peaks[name].torque if quantity == "torque" else peaks[name].power for name in pair)
    return uneven_interval(curves, of.height - from_.height, of.draws - from_.draws)


def _crossovers(
    curves: DrawnCurves,
    gain: Gain,
    limits: tuple[FloatArray, FloatArray],
    pair: tuple[str, str],
    refusals: list[Refusal],
) -> tuple[tuple[Crossover, ...], tuple[PossibleCrossover, ...]]:
    """Crossovers stretch by stretch; a change of the certain sign over a gap is told as a refusal."""
    certain: list[Crossover] = []
    possible: list[PossibleCrossover] = []
    if not curves.has_bands:
        return (), ()
    low, high = limits
    last_sign, last_end = 0, 0.0
    for stretch in curves.stretches:
        speed = curves.speed_rpm[stretch]
        certain += _certain_in(curves, gain, stretch, low, high)
        zones = possible_zones(speed, gain.centre[stretch], low[stretch], high[stretch])
        possible += [PossibleCrossover(low=zone[0], high=zone[1]) for zone in zones]
        signs = np.sign(np.where(low[stretch] > 0.0, 1.0, 0.0) - np.where(high[stretch] < 0.0, 1.0, 0.0))
        known = signs[signs != 0.0]
        if known.size:
            if last_sign * known[0] < 0.0:
                refusals.append(crossover_in_gap(pair, last_end, float(speed[0])))
            last_sign = int(known[-1])
        last_end = float(speed[-1])
    return tuple(certain), tuple(possible)


def _certain_in(curves: DrawnCurves, gain: Gain, stretch: slice, low: FloatArray, high: FloatArray) -> list[Crossover]:
    speed, centre, deviations = curves.speed_rpm[stretch], gain.centre[stretch], gain.deviations[stretch].T
    found: list[Crossover] = []
    for crossing in certain_crossings(speed, low[stretch], high[stretch]):
        rpm, first, last = inversion_interval(crossing, speed, centre, deviations, curves.confidence)
        found.append(
            Crossover(
                rpm=rpm,
                low=first,
                high=last,
                zone_low=crossing.zone_low,
                zone_high=crossing.zone_high,
                sign_above=crossing.sign_above,
            )
        )
    return found


def window_gains(
    comparison: Comparison, curves: DrawnCurves, gain: Gain, what: str, refusals: list[Refusal]
) -> tuple[WindowGain, ...]:
    """Mean gains over the windows asked for.

    Parameters
    ----------
    comparison : Comparison
        The question, whose windows are used. [rpm]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    gain : Gain
        The gain. [N m, or %]
    what : str
        Its name, for the refusals.
    refusals : list of Refusal
        A window that is not measured throughout is added to it.

    Returns
    -------
    tuple of WindowGain
        In the order asked for; `percent` is the mean gain in per cent of the mean that it is a gain on. [N m, W, %]
    """
    found: list[WindowGain] = []
    for low, high in comparison.windows:
        weights = curves.weights(low, high)
        if weights is None:
            refusals.append(window_outside(what, (low, high), curves.span_rpm, gap=len(curves.stretches) > 1))
            continue
        value, deviations = float(weights @ gain.centre), weights @ gain.deviations
        base, base_draws = float(weights @ gain.from_centre), weights @ gain.from_draws
        percent = 100.0 * value / base
        power = None
        if not curves.relative:
            lever = weights * curves.angular_speed
            power = spread_interval(curves, float(lever @ gain.centre), lever @ gain.deviations)
        found.append(
            WindowGain(
                from_rpm=low,
                to_rpm=high,
                torque=spread_interval(curves, value, deviations),
                power=power,
                percent=spread_interval(curves, percent, 100.0 * (value + deviations) / base_draws - percent),
            )
        )
    return tuple(found)


def _with_classical(
    window: WindowGain, comparison: Comparison, curves: DrawnCurves, pair: tuple[str, str]
) -> WindowGain:
    """The same window with the t interval of the means of its pulls, where it can be given."""
    if curves.relative:
        return window
    means: dict[str, list[float]] = {}
    for pull in comparison.pulls:
        means.setdefault(pull.build, []).append(_pull_mean(pull, window))
    others = [values for name, values in means.items() if name not in pair]
    value, low, high = classical_interval(means[pair[0]], means[pair[1]], others, curves.confidence)
    return WindowGain(
        from_rpm=window.from_rpm,
        to_rpm=window.to_rpm,
        torque=window.torque,
        power=window.power,
        percent=window.percent,
        classical=Interval(value=value, low=low, high=high),
    )


def _pull_mean(pull: ComparablePull, window: WindowGain) -> float:
    return mean_over(pull.speed_rpm, pull.torque, window.from_rpm, window.to_rpm)


def crossover_shifts(curves: DrawnCurves, differences: Sequence[Difference]) -> tuple[CrossoverShift, ...]:
    """How far the crossover of one change lies from that of another, where each has exactly one that is certain.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    differences : sequence of Difference
        Differences with their crossovers. [rpm]

    Returns
    -------
    tuple of CrossoverShift
        One for each two differences with a crossover that is certain. [rpm]

    Notes
    -----
    Percentiles of the crossing nearest to the estimate in each draw; coverage 94-96 % in the simulations of the method.
    """
    crossed = [one for one in differences if len(one.crossovers) == 1]
    places: list[tuple[Difference, FloatArray]] = []
    if len(crossed) < 2:
        return ()
    for one in crossed:
        gain = gain_of(curves, {one.of: 1.0, one.from_: -1.0})
        draws = (gain.centre[:, None] + gain.deviations).T
        places.append((one, nearest_crossings(curves.speed_rpm, draws, one.crossovers[0].rpm)))
    found: list[CrossoverShift] = []
    for number, (first, at_first) in enumerate(places):
        for second, at_second in places[number + 1 :]:
            shift = at_second - at_first
            shift = shift[np.isfinite(shift)]
            value = second.crossovers[0].rpm - first.crossovers[0].rpm
            found.append(
                CrossoverShift(
                    first=(first.of, first.from_),
                    second=(second.of, second.from_),
                    shift=uneven_interval(curves, value, shift),
                )
            )
    return tuple(found)
