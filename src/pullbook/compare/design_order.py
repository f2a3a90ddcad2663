"""What the order of the pulls confounds: changes with drift, and parts with the fitting of them."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.compare.order import RunOrder
    from pullbook.records.build import Build, Factor

__all__ = ["confounded_with_drift", "confounded_with_refit", "levels_by_pull"]


def levels_by_pull(factors: Sequence[Factor], builds: Sequence[Build], order: RunOrder) -> dict[str, list[str]]:
    """Level of each factor at every pull in order of time; without factors, the build itself."""
    if not factors:
        return {"the build": [pull.build for pull in order.pulls]}
    built = {build.name: build for build in builds}
    return {factor.name: [built[pull.build].levels.get(factor.name, "") for pull in order.pulls] for factor in factors}


def _opening(name: str) -> str:
    return f"{name[0].upper()}{name[1:]}"


def confounded_with_drift(levels: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """One sentence for each factor whose levels were each run in one block.

    Parameters
    ----------
    levels : mapping of str to sequence of str
        Level of each factor at every pull in order of time.

    Returns
    -------
    tuple of str
        Sentences.

    Examples
    --------
    >>> confounded_with_drift({"cam": ["1", "1", "2", "2"], "header": ["a", "b", "a", "b"]})
    ('Cam was never changed back: what it does cannot be told from the drift of the session, whose size is assumed.',)
    """
    return tuple(
        f"{_opening(name)} was never changed back: what it does cannot be told from the drift of the session, whose "
        "size is assumed."
        for name, each in levels.items()
        if 1 < 1 + sum(before != after for before, after in pairwise(each)) == len(set(each))
    )


def confounded_with_refit(levels: Mapping[str, Sequence[str]], order: RunOrder) -> tuple[str, ...]:
    """One sentence for each factor of which every level was fitted once.

    Parameters
    ----------
    levels : mapping of str to sequence of str
        Level of each factor at every pull in order of time.
    order : RunOrder
        With the fitting of every pull.

    Returns
    -------
    tuple of str
        Sentences.
    """
    found: list[str] = []
    for name, each in levels.items():
        fittings = {(level, fitting) for level, fitting in zip(each, order.fitting.tolist(), strict=True)}
        if 1 < len(set(each)) == len(fittings):
            found.append(
                f"{_opening(name)} was fitted once in each form: what it does cannot be told from the error of "
                "fitting, whose size is assumed."
            )
    return tuple(found)
