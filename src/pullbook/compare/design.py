"""What the builds that were run and their order can tell apart: estimability, aliases, drift, re-fitting in words."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.design_order import confounded_with_drift, confounded_with_refit, levels_by_pull
from pullbook.compare.order import run_order

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.build import Build, Factor
    from pullbook.records.comparison import Comparison

__all__ = ["DesignMatrix", "DesignReport", "Estimability", "describe_design", "design_matrix", "estimability"]

_TOLERANCE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignMatrix:
    """Curves of the builds as sums of terms: the baseline, what each change does, and changes that act together.

    Attributes
    ----------
    cells : tuple of str
        Builds that were run, in the order of the session.
    terms : tuple of str
        Name of each column: "baseline", "cam to 2", "cam to 2 with header to 4-2-1".
    matrix : (c, p) array of float
        One where a build has the term, else zero. [1]
    factors : tuple of tuple of str
        Factors of each term: none, one or two.
    """

    cells: tuple[str, ...]
    terms: tuple[str, ...]
    matrix: FloatArray
    factors: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimability:
    """Whether a combination of terms can be had from the builds that were run.

    Attributes
    ----------
    estimable : bool
        It can.
    weights : (c,) array of float
        Least-squares weights of the builds; NaN where it cannot. [1]
    aliases : (k, p) array of float
        Combinations of terms that no build can see and that are part of it; no rows where it can. [1]
    """

    estimable: bool
    weights: FloatArray
    aliases: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignReport:
    """What the session can tell apart, in words.

    Attributes
    ----------
    matrix : DesignMatrix
        Terms that the builds can bear.
    estimable : tuple of str
        Terms that have an estimate of their own.
    aliased : tuple of str
        One sentence for each change that cannot be told from another.
    mixed : tuple of str
        One sentence for each change whose estimate is right only where two others do not act together.
    untested : tuple of str
        One sentence for each two factors of which the builds cannot show whether they act together.
    drift : tuple of str
        One sentence for each factor that was changed once and not changed back.
    refit : tuple of str
        One sentence for each factor whose parts were all bolted on once.
    """

    matrix: DesignMatrix
    estimable: tuple[str, ...]
    aliased: tuple[str, ...]
    mixed: tuple[str, ...]
    untested: tuple[str, ...]
    drift: tuple[str, ...]
    refit: tuple[str, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it, the gravest first."""
        return (*self.aliased, *self.drift, *self.refit, *self.mixed, *self.untested)


def estimability(matrix: FloatArray, contrast: FloatArray) -> Estimability:
    r"""Whether a contrast :math:`c` of the terms is estimable: :math:`c X^+ X = c`.

    Parameters
    ----------
    matrix : (c, p) array of float
        Terms of each build. [1]
    contrast : (p,) array of float
        Wanted combination of the terms. [1]

    Returns
    -------
    Estimability
        With the weights :math:`c X^+`, or with the null space of X that is in the way.

    References
    ----------
    1. S. R. Searle, *Linear Models*, 1971, section 5.4 (from memory).

    Examples
    --------
    >>> both_at_once = np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 1.0]])
    >>> estimability(both_at_once, np.array([0.0, 1.0, 0.0])).estimable
    False
    >>> estimability(both_at_once, np.array([0.0, 1.0, 1.0])).weights
    array([-1.,  1.])
    """
    _, size, right = np.linalg.svd(matrix)
    null: FloatArray = np.asarray(right[int((size > _TOLERANCE * size[0]).sum()) :], dtype=np.float64)
    part = null @ contrast
    if np.abs(part).max(initial=0.0) < _TOLERANCE * max(1.0, float(np.abs(contrast).max())):
        weights: FloatArray = contrast @ np.linalg.pinv(matrix)
        return Estimability(estimable=True, weights=weights, aliases=np.zeros((0, contrast.size)))
    return Estimability(
        estimable=False,
        weights=np.full(matrix.shape[0], np.nan),
        aliases=null[np.abs(part) >= _TOLERANCE],
    )


def _run_builds(comparison: Comparison) -> tuple[Build, ...]:
    run = {pull.build for pull in comparison.pulls}
    return tuple(build for build in comparison.builds if build.name in run)


def _changes(comparison: Comparison, builds: Sequence[Build]) -> list[tuple[str, str]]:
    """Factor and level of every change from the baseline among the builds."""
    base = next((build for build in builds if build.name == comparison.baseline), builds[0])
    return [
        (factor.name, level)
        for factor in comparison.factors
        for level in factor.levels
        if level != base.levels.get(factor.name) and any(build.levels.get(factor.name) == level for build in builds)
    ]


def _has(builds: Sequence[Build], change: tuple[str, str]) -> FloatArray:
    return np.array([float(build.levels.get(change[0]) == change[1]) for build in builds])


def design_matrix(comparison: Comparison) -> DesignMatrix:
    """Terms that the builds of a session can bear: all changes, then changes that act together while they add rank.

    Parameters
    ----------
    comparison : Comparison
        Builds, factors and pulls.

    Returns
    -------
    DesignMatrix
        Missing combinations are allowed; the changes are there even where they cannot be told apart.
    """
    builds = _run_builds(comparison)
    changes = _changes(comparison, builds)
    columns = [np.ones(len(builds)), *(_has(builds, change) for change in changes)]
    terms = ["baseline", *(f"{name} to {level}" for name, level in changes)]
    factors: list[tuple[str, ...]] = [(), *((name,) for name, _ in changes)]
    for (one, first), (other, second) in combinations(zip(changes, terms[1:], strict=True), 2):
        column = _has(builds, one) * _has(builds, other)
        grown = np.column_stack((*columns, column))
        if one[0] != other[0] and np.linalg.matrix_rank(grown) > np.linalg.matrix_rank(grown[:, :-1]):
            columns.append(column)
            terms.append(f"{first} with {second}")
            factors.append((one[0], other[0]))
    return DesignMatrix(
        cells=tuple(build.name for build in builds),
        terms=tuple(terms),
        matrix=np.column_stack(columns),
        factors=tuple(factors),
    )


def describe_design(comparison: Comparison) -> DesignReport:
    """What the builds and their order can tell apart, with the names of the factors.

    Parameters
    ----------
    comparison : Comparison
        Builds, factors and pulls in run order.

    Returns
    -------
    DesignReport
        Sentences for everything that cannot be told apart; empty where all can.
    """
    design = design_matrix(comparison)
    additive = [place for place, factors in enumerate(design.factors) if len(factors) < 2]
    matrix = design.matrix[:, additive]
    names = [design.terms[place] for place in additive]
    units = np.eye(len(additive))
    found = [estimability(matrix, unit) for unit in units]
    whole = [estimability(design.matrix, unit).estimable for unit in np.eye(len(design.terms))]
    builds = _run_builds(comparison)
    order = run_order(comparison)
    levels = levels_by_pull(comparison.factors, builds, order)
    return DesignReport(
        matrix=design,
        estimable=tuple(term for term, there in zip(design.terms[1:], whole[1:], strict=True) if there),
        aliased=tuple(
            _aliased(names, place, one) for place, one in enumerate(found) if place > 0 and not one.estimable
        ),
        mixed=tuple(
            sentence
            for place, one in enumerate(found)
            if place > 0 and one.estimable
            for sentence in _mixed(names[place], design.factors[additive[place]][0], one.weights, builds, comparison)
        ),
        untested=_untested(comparison.factors, matrix, builds),
        drift=confounded_with_drift(levels),
        refit=confounded_with_refit(levels, order),
    )


def _aliased(names: Sequence[str], place: int, one: Estimability) -> str:
    involved = np.abs(one.aliases).max(axis=0) > _TOLERANCE
    others = [name for other, name in enumerate(names) if involved[other] and other != place]
    return (
        f"What {names[place]} does cannot be told from {' and '.join(others)}: no build has the one without the other."
    )


def _centred(builds: Sequence[Build], factor: Factor) -> list[tuple[str, FloatArray]]:
    """Columns of the levels of a factor, which sum to zero over its levels."""
    levels = [level for level in factor.levels if any(build.levels.get(factor.name) == level for build in builds)]
    return [(level, _has(builds, (factor.name, level)) - 1.0 / len(levels)) for level in levels[1:]]


def _mixed(name: str, own: str, weights: FloatArray, builds: Sequence[Build], comparison: Comparison) -> list[str]:
    """Two-factor interactions that the least-squares weights of an effect let through."""
    through = []
    for one, other in combinations([factor for factor in comparison.factors if factor.name != own], 2):
        products = [first * second for _, first in _centred(builds, one) for _, second in _centred(builds, other)]
        if any(abs(float(weights @ product)) > 1e-6 for product in products):
            through.append(f"{one.name} and {other.name}")
    if not through:
        return []
    return [f"What {name} does is right only if {', and '.join(through)} do not act together."]


def _untested(factors: Sequence[Factor], additive: FloatArray, builds: Sequence[Build]) -> tuple[str, ...]:
    rank = np.linalg.matrix_rank(additive)
    sentences = []
    for one, other in combinations(factors, 2):
        products = [first * second for _, first in _centred(builds, one) for _, second in _centred(builds, other)]
        if products and np.linalg.matrix_rank(np.column_stack((additive, *products))) == rank:
            sentences.append(f"Whether {one.name} and {other.name} act together cannot be told from the builds run.")
    return tuple(sentences)
