"""What an order cannot tell apart, in words, before a bolt is turned."""

from __future__ import annotations

from itertools import groupby
from math import ceil, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from pullbook.curves.detectable import POWER
from pullbook.quantities.phrases import counted, hours_and_minutes, listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.plan.costs import Order
    from pullbook.records.build import Build
    from pullbook.records.plan_terms import ScatterBelief

__all__ = ["confounded", "fitting_floor", "over_nights"]

_REACH: Final = NormalDist().inv_cdf(0.975) + NormalDist().inv_cdf(POWER)


def fitting_floor(order: Order, contrast: Mapping[int, float], belief: ScatterBelief) -> float:
    """Smallest size that can be told however many pulls are made on these fittings, with the typical re-fitting error.

    ``(z_{0.975} + z_{0.8}) s_refit sqrt(sum of w^2 / fittings)``

    Parameters
    ----------
    order : Order
        The fittings.
    contrast : mapping of int to float
        Weight of each build, by its number. [1]
    belief : ScatterBelief
        For the size of re-fitting. [%]

    Returns
    -------
    float
        Size. [%]

    Examples
    --------
    >>> from pullbook.records.plan_terms import ScatterBelief
    >>> round(fitting_floor(((0, 3), (1, 3)), {0: -1.0, 1: 1.0}, ScatterBelief(refit=0.25, source="")), 2)
    0.99
    """
    fittings = [build for build, _ in order]
    share = sum(weight**2 / fittings.count(build) for build, weight in contrast.items())
    return _REACH * belief.refit * sqrt(share)


def confounded(order: Order, builds: Sequence[Build], belief: ScatterBelief) -> tuple[str, ...]:
    """What an order cannot tell apart, one sentence each, the gravest first.

    Parameters
    ----------
    order : Order
        The fittings.
    builds : sequence of Build
        The builds.
    belief : ScatterBelief
        Sizes that stand in for what the order cannot show. [%]

    Returns
    -------
    tuple of str
        Empty where every change is made and made back, and every build is put together again.
    """
    once = [name for name, stays in _stays(order, builds).items() if 1 < len(stays) == len(set(stays))]
    floor = _REACH * belief.refit * sqrt(2.0)
    drift = tuple(
        f"With this order {name or 'the build'} and the drift of the day cannot be told apart: {name or 'it'} is never "
        f"changed back, and a drift of {belief.drift:.2g} % an hour is assumed."
        for name in once
    )
    refit = tuple(
        f"Each form of {name or 'the engine'} is fitted once, so that the part and its fitting cannot be told apart: "
        f"with {belief.refit:.2g} % for a re-fitting, nothing below {floor:.2g} % is seen however many pulls are made."
        for name in once
    )
    return (*drift, *refit, *_single(order, builds))


def over_nights(seconds: float, day: float) -> tuple[str, ...]:
    """What a session of several days adds, as one sentence; none where it is over in one.

    Parameters
    ----------
    seconds : float
        Length of the session. [s]
    day : float
        Length of a day at the bench. [s]

    Returns
    -------
    tuple of str
        One sentence or none.

    Examples
    --------
    >>> over_nights(3600.0, 28_800.0)
    ()
    """
    days = ceil(seconds / day - 1e-9)
    if days < 2:
        return ()
    says = (
        f"It takes {counted(days, 'day')} of {hours_and_minutes(day)}, and these odds do not know what a night does to "
        "the level: end each day and begin the next with a pull of the same build."
    )
    return (says,)


def _stays(order: Order, builds: Sequence[Build]) -> dict[str, list[str]]:
    """Levels of each factor in the order in which they are fitted, each stay once."""
    fitted = [builds[build] for build, _ in order]
    names = list(builds[0].levels) or [""]
    return {name: [level for level, _ in groupby(one.levels.get(name, one.name) for one in fitted)] for name in names}


def _single(order: Order, builds: Sequence[Build]) -> tuple[str, ...]:
    """Builds that are put together once, where others are put together again."""
    fittings = [build for build, _ in order]
    single = [builds[build].name for build in dict.fromkeys(fittings) if fittings.count(build) == 1]
    if not single or len(single) == len(set(fittings)):
        return ()
    verb = "are each put" if len(single) > 1 else "is put"
    return (f"{listed(single)} {verb} together once: how far fitting moves a build is learnt from the others alone.",)
