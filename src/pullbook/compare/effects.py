"""What each factor does: least squares over the builds that were run, and what cannot be told apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.design import estimability
from pullbook.compare.differences import window_gains
from pullbook.compare.drawn import gain_of
from pullbook.quantities.phrases import listed
from pullbook.records.effect import Effect

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.compare.design import Estimability
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.records.build import Build, Factor
    from pullbook.records.comparison import Comparison
    from pullbook.records.verdict import Refusal

__all__ = ["FactorContrast", "effects_of", "factor_contrasts", "run_builds"]

_TOLERANCE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorContrast:
    """Weights of the builds that make the effect of one change, the other factors held.

    Attributes
    ----------
    factor, from_level, to_level : str
        The change.
    weights : mapping of str to float
        Weight of each build; empty where the effect cannot be estimated. [1]
    aliased_with : str
        In words, what cannot be told apart from it; empty where it can be estimated.
    """

    factor: str
    from_level: str
    to_level: str
    weights: Mapping[str, float]
    aliased_with: str


def run_builds(comparison: Comparison, cells: Sequence[str]) -> tuple[Build, ...]:
    """Builds that have pulls, in the order of the session."""
    return tuple(build for build in comparison.builds if build.name in cells)


def factor_contrasts(builds: Sequence[Build], factors: Sequence[Factor], baseline: str) -> tuple[FactorContrast, ...]:
    """Effect of each change from the baseline's level, by least squares over the builds.

    The curve of a build is taken as that of the baseline plus one effect for each factor that is at another level;
    missing combinations are allowed.

    Parameters
    ----------
    builds : sequence of Build
        Builds that were run.
    factors : sequence of Factor
        Factors of the session; those with one level only among the builds are passed over.
    baseline : str
        Name of the baseline.

    Returns
    -------
    tuple of FactorContrast
        One for each factor and each of its other levels. [1]

    Notes
    -----
    In a complete two-level layout it is the mean of the builds at one level minus the mean of those at the other. Where
    factors interact it is an average over the builds that were run.
    """
    changes = _changes(builds, factors, baseline)
    design = np.array(
        [[1.0, *(float(build.levels.get(name) == level) for name, _, level in changes)] for build in builds]
    )
    found: list[FactorContrast] = []
    for number, (name, from_level, to_level) in enumerate(changes, start=1):
        one = estimability(design, np.eye(len(changes) + 1)[number])
        found.append(
            FactorContrast(
                factor=name,
                from_level=from_level,
                to_level=to_level,
                weights={
                    build.name: round(weight, 12)
                    for build, weight in zip(builds, one.weights.tolist(), strict=True)
                    if abs(weight) > _TOLERANCE
                },
                aliased_with="" if one.estimable else _alias_words(one, changes, number),
            )
        )
    return tuple(found)


def _changes(builds: Sequence[Build], factors: Sequence[Factor], baseline: str) -> list[tuple[str, str, str]]:
    """Factor, baseline's level and other level, for every level among the builds."""
    base = next(build for build in builds if build.name == baseline)
    changes: list[tuple[str, str, str]] = []
    for factor in factors:
        held = base.levels.get(factor.name, "")
        seen = {build.levels.get(factor.name) for build in builds}
        changes += [(factor.name, held, level) for level in factor.levels if level in seen and level != held]
    return changes


def _alias_words(one: Estimability, changes: Sequence[tuple[str, str, str]], number: int) -> str:
    """What was changed together with it, from the combinations of changes that no build can see."""
    involved = np.abs(one.aliases).max(axis=0) > _TOLERANCE
    others = [
        f"{name} ({from_level} to {to_level})"
        for place, (name, from_level, to_level) in enumerate(changes, start=1)
        if involved[place] and place != number
    ]
    return listed(others)


def effects_of(comparison: Comparison, curves: DrawnCurves, refusals: list[Refusal]) -> tuple[Effect, ...]:
    """Effects of all factors, with their bands and windows.

    Parameters
    ----------
    comparison : Comparison
        Builds, factors and windows. [rpm]
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    refusals : list of Refusal
        Windows that are not measured throughout are added to it.

    Returns
    -------
    tuple of Effect
        An effect that cannot be estimated has no curve, and says in words what it cannot be told from. [N m, W or %]
    """
    builds = run_builds(comparison, curves.cells)
    contrasts = factor_contrasts(builds, comparison.factors, comparison.baseline)
    return tuple(_effect(comparison, curves, contrast, refusals) for contrast in contrasts)


def _effect(comparison: Comparison, curves: DrawnCurves, contrast: FactorContrast, refusals: list[Refusal]) -> Effect:
    if contrast.aliased_with:
        return Effect(
            factor=contrast.factor,
            from_level=contrast.from_level,
            to_level=contrast.to_level,
            torque=None,
            power=None,
            aliased_with=contrast.aliased_with,
        )
    gain = gain_of(curves, contrast.weights)
    torque, power = curves.bands(gain.centre, curves.limits(gain.centre, gain.deviations))
    what = f"{contrast.factor} {contrast.from_level} to {contrast.to_level}"
    return Effect(
        factor=contrast.factor,
        from_level=contrast.from_level,
        to_level=contrast.to_level,
        torque=torque,
        power=power,
        windows=window_gains(comparison, curves, gain, what, refusals),
    )
