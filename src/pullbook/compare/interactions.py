"""Does a change act the same at two levels of another factor? The difference of the two gains, with its band."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.drawn import gain_of
from pullbook.compare.effects import run_builds
from pullbook.curves.equivalence import smallest_margin
from pullbook.records.effect import Interaction

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.compare.drawn import DrawnCurves
    from pullbook.quantities.arrays import BoolArray
    from pullbook.records.build import Build, Factor
    from pullbook.records.comparison import Comparison

__all__ = ["InteractionContrast", "interaction_contrasts", "interactions_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class InteractionContrast:
    """Weights of the builds in the difference of two gains.

    Attributes
    ----------
    factor, from_level, to_level : str
        The change.
    with_factor, level, other_level : str
        What is held at one level, then at the other.
    weights : mapping of str to float
        Weight of each build. [1]
    """

    factor: str
    from_level: str
    to_level: str
    with_factor: str
    level: str
    other_level: str
    weights: Mapping[str, float]


def interaction_contrasts(
    builds: Sequence[Build], factors: Sequence[Factor], baseline: str
) -> tuple[InteractionContrast, ...]:
    """Differences of gains for every two factors of which four builds make a square.

    Parameters
    ----------
    builds : sequence of Build
        Builds that were run.
    factors : sequence of Factor
        Factors of the session.
    baseline : str
        Name of the baseline, whose levels the changes start from where a square has them.

    Returns
    -------
    tuple of InteractionContrast
        Each pair of changes once. [1]

    Notes
    -----
    Squares that differ only in further factors are averaged. With factors of more than two levels the squares that
    start from the baseline's levels are used, and all others only where there is none of these.
    """
    base = next(build for build in builds if build.name == baseline)
    found: list[InteractionContrast] = []
    for first, second in combinations(factors, 2):
        squares = [
            contrast
            for change in _level_pairs(builds, first, base)
            for held in _level_pairs(builds, second, base)
            if (contrast := _square(builds, (first.name, *change), (second.name, *held))) is not None
        ]
        at_base = [
            square
            for square in squares
            if square.from_level == base.levels.get(first.name) and square.level == base.levels.get(second.name)
        ]
        found += at_base or squares
    return tuple(found)


def _level_pairs(builds: Sequence[Build], factor: Factor, base: Build) -> list[tuple[str, str]]:
    """Pairs of levels among the builds, the baseline's level first."""
    seen = {build.levels.get(factor.name) for build in builds}
    levels = [level for level in factor.levels if level in seen]
    levels.sort(key=lambda level: level != base.levels.get(factor.name))
    return list(combinations(levels, 2))


def _square(
    builds: Sequence[Build], change: tuple[str, str, str], held: tuple[str, str, str]
) -> InteractionContrast | None:
    """Contrast of all complete squares of two changes, or None where there is none."""
    corners: dict[tuple[tuple[str, str], ...], dict[tuple[str, str], list[str]]] = {}
    for build in builds:
        others = tuple(sorted((n, level) for n, level in build.levels.items() if n not in (change[0], held[0])))
        place = (build.levels.get(change[0], ""), build.levels.get(held[0], ""))
        corners.setdefault(others, {}).setdefault(place, []).append(build.name)
    signs = {(change[2], held[2]): 1.0, (change[1], held[2]): -1.0, (change[2], held[1]): -1.0,
             (change[1], held[1]): 1.0}  # fmt: skip
    squares = [places for places in corners.values() if all(corner in places for corner in signs)]
    if not squares:
        return None
    weights: dict[str, float] = {}
    for places in squares:
        for corner, sign in signs.items():
            for name in places[corner]:
                weights[name] = weights.get(name, 0.0) + sign / len(places[corner]) / len(squares)
    return InteractionContrast(
        factor=change[0],
        from_level=change[1],
        to_level=change[2],
        with_factor=held[0],
        level=held[1],
        other_level=held[2],
        weights=weights,
    )


def interactions_of(comparison: Comparison, curves: DrawnCurves) -> tuple[Interaction, ...]:
    """All differences of gains, with what is proved about them.

    Parameters
    ----------
    comparison : Comparison
        Builds and factors.
    curves : DrawnCurves
        Curves of all builds. [N m, or %]

    Returns
    -------
    tuple of Interaction
        None where no doubt can be stated. [N m or %]

    Notes
    -----
    That no difference was found never proves that there is none: `smallest_margin` is what is proved.
    """
    if not curves.has_bands:
        return ()
    contrasts = interaction_contrasts(run_builds(comparison, curves.cells), comparison.factors, comparison.baseline)
    return tuple(_interaction(curves, contrast) for contrast in contrasts)


def _interaction(curves: DrawnCurves, contrast: InteractionContrast) -> Interaction:
    gain = gain_of(curves, contrast.weights)
    band = curves.band(gain.centre, gain.deviations)
    apart = (band.low > 0.0) | (band.high < 0.0)
    where = _longest_run(apart)
    return Interaction(
        factor=contrast.factor,
        from_level=contrast.from_level,
        to_level=contrast.to_level,
        with_factor=contrast.with_factor,
        level=contrast.level,
        other_level=contrast.other_level,
        torque=band,
        differs=where is not None,
        differs_from_rpm=None if where is None else float(curves.grid_rpm[where[0]]),
        differs_to_rpm=None if where is None else float(curves.grid_rpm[where[1]]),
        smallest_margin=smallest_margin(gain.centre, gain.deviations.T, curves.alpha),
    )


def _longest_run(there: BoolArray) -> tuple[int, int] | None:
    """First and last place of the longest run, None where there is none."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], there, [False])).astype(np.int8)))
    if edges.size == 0:
        return None
    starts, ends = edges[::2], edges[1::2]
    longest = int((ends - starts).argmax())
    return int(starts[longest]), int(ends[longest]) - 1
