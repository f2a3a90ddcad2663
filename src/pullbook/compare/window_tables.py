"""Comparison -> WindowTables: mean gains of each pair over every window, from the draws that the findings rest on."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.compare.drawn import gain_of
from pullbook.curves.all_windows import (
    integrals_to,
    mean_half_widths,
    round_ends,
    share_half_widths,
    window_places,
)
from pullbook.curves.student import t_quantile
from pullbook.records.window_table import WindowStretch, WindowTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.compare.drawn import DrawnCurves, Gain
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison

__all__ = ["MOST_ENDS", "torque_tables", "window_tables"]

MOST_ENDS: Final = 71  # of windows in the whole range: 100 rpm apart over 7,000 rpm


def window_tables(
    comparison: Comparison, curves: DrawnCurves, pairs: Sequence[tuple[str, str]]
) -> tuple[WindowTable, ...]:
    """Mean gains of some pairs over all windows between round speeds.

    Parameters
    ----------
    comparison : Comparison
        The pulls, for the classical interval. [N m, rpm]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    pairs : sequence of (str, str)
        Pairs of builds that were run, as (of, from).

    Returns
    -------
    tuple of WindowTable
        In the order of `pairs`; none where no two neighbouring speeds were measured. [N m, W, %]

    Notes
    -----
    For each window the same numbers as `pullbook.compare.differences.window_gains` gives for it.
    """
    places = [stretch for stretch in curves.stretches if stretch.stop - stretch.start > 1]
    if not places:
        return ()
    most = max(MOST_ENDS // len(places), 2)
    ends = [round_ends(curves.speed_rpm[stretch], most) for stretch in places]
    checks = [_checks(comparison, one) for one in ends]
    found: list[WindowTable] = []
    for of, from_ in pairs:
        gain = gain_of(curves, {of: 1.0, from_: -1.0})
        parts = tuple(
            _stretch(curves, gain, place, one, check.of_pair(of, from_, curves.confidence))
            for place, one, check in zip(places, ends, checks, strict=True)
        )
        found.append(WindowTable(of=of, from_=from_, stretches=parts))
    return tuple(found)


def torque_tables(curves: DrawnCurves, tables: Sequence[WindowTable]) -> tuple[WindowTable, ...]:
    """Mean torque gains over the windows of tables that were made of fewer pulls, to stand beside them.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    tables : sequence of WindowTable
        What the gains are to stand beside; their pairs and ends are taken. [N m, W, %]

    Returns
    -------
    tuple of WindowTable
        In the order of `tables`, for the pairs that were run; none where no two of the speeds were measured without
        a gap. Power, shares and checks are empty. [N m, or %]
    """
    pairs = [pair for one in tables if {*(pair := (one.of, one.from_))} <= {*curves.cells}]
    if not pairs:
        return ()
    ends_rpm = np.concatenate([stretch.ends_rpm for stretch in tables[0].stretches])
    own = [(place, _among(curves.speed_rpm[place], ends_rpm)) for place in curves.stretches]
    known = [(place, ends) for place, ends in own if ends.size > 1]
    if not known:
        return ()
    found: list[WindowTable] = []
    for of, from_ in pairs:
        gain = gain_of(curves, {of: 1.0, from_: -1.0})
        parts = tuple(_torque_alone(curves, gain, place, ends) for place, ends in known)
        found.append(WindowTable(of=of, from_=from_, stretches=parts))
    return tuple(found)


def _among(speed_rpm: FloatArray, ends_rpm: FloatArray) -> FloatArray:
    found: FloatArray = speed_rpm[np.isin(np.round(speed_rpm, 6), np.round(ends_rpm, 6))]
    return found


def _torque_alone(curves: DrawnCurves, gain: Gain, place: slice, ends: FloatArray) -> WindowStretch:
    none = np.zeros(0)
    to_ends = integrals_to(curves.speed_rpm[place], gain.deviations[place], ends)
    return WindowStretch(
        speed_rpm=curves.speed_rpm[place],
        gain=gain.centre[place],
        base=gain.from_centre[place],
        ends_rpm=ends,
        torque=mean_half_widths(to_ends, ends, curves.confidence),
        power=none,
        percent=none,
        check=none,
        check_half=none,
    )


def _stretch(
    curves: DrawnCurves, gain: Gain, place: slice, ends: FloatArray, check: tuple[FloatArray, FloatArray]
) -> WindowStretch:
    speed, deviations = curves.speed_rpm[place], gain.deviations[place]
    to_ends = integrals_to(speed, deviations, ends)
    none = np.zeros(0)
    power, percent = none, none
    if not curves.relative:
        lever = curves.angular_speed[place]
        power = mean_half_widths(integrals_to(speed, deviations * lever[:, None], ends), ends, curves.confidence)
        percent = _percent(curves, gain, place, ends, to_ends)
    return WindowStretch(
        speed_rpm=speed,
        gain=gain.centre[place],
        base=gain.from_centre[place],
        ends_rpm=ends,
        torque=mean_half_widths(to_ends, ends, curves.confidence),
        power=power,
        percent=percent,
        check=none if curves.relative else check[0],
        check_half=none if curves.relative else check[1],
    )


def _percent(curves: DrawnCurves, gain: Gain, place: slice, ends: FloatArray, deviations: FloatArray) -> FloatArray:
    speed = curves.speed_rpm[place]
    centre, base = (integrals_to(speed, one[place], ends) for one in (gain.centre, gain.from_centre))
    low, high = window_places(ends.size)
    share = 100.0 * (centre[high] - centre[low]) / (base[high] - base[low])
    draws = deviations + centre[:, None]
    bases = integrals_to(speed, gain.from_draws[place], ends)
    return share_half_widths(draws, bases, share, ends, curves.confidence)


class _Means:
    """Means of every pull over all windows, by build."""

    def __init__(self, builds: dict[str, list[FloatArray]]) -> None:
        self._builds = {name: np.array(rows) for name, rows in builds.items()}
        self._freedom = sum(len(rows) - 1 for rows in self._builds.values())
        squares = [((rows - rows.mean(axis=0)) ** 2).sum(axis=0) for rows in self._builds.values()]
        self._squares: FloatArray = np.sum(squares, axis=0)

    def of_pair(self, of: str, from_: str, confidence: float) -> tuple[FloatArray, FloatArray]:
        """Difference of the means of two builds and the half-width of its t interval, as `classical_interval`."""
        one, other = self._builds[of], self._builds[from_]
        value = one.mean(axis=0) - other.mean(axis=0)
        if self._freedom == 0:
            return value, np.full_like(value, np.nan)
        step = t_quantile(0.5 + confidence / 2.0, self._freedom)
        scatter = np.sqrt(self._squares / self._freedom)
        return value, step * scatter * sqrt(1.0 / len(one) + 1.0 / len(other))


def _checks(comparison: Comparison, ends: FloatArray) -> _Means:
    low, high = window_places(ends.size)
    builds: dict[str, list[FloatArray]] = {}
    for pull in comparison.pulls:
        to_ends = integrals_to(pull.speed_rpm, pull.torque, ends)
        builds.setdefault(pull.build, []).append((to_ends[high] - to_ends[low]) / (ends[high] - ends[low]))
    return _Means(builds)
