"""What a session has to answer, from its claims or from the size that was asked for."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import pi
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError, UnfinishedError, Way
from pullbook.plan.costs import changed_factors
from pullbook.quantities.sizes import size_shown
from pullbook.records.declaration import Quantity
from pullbook.records.plan import Ask, Target

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.build import Build
    from pullbook.records.declaration import Claim
    from pullbook.records.session import Session

__all__ = ["ASSUMED_PERCENT", "Resolve", "SpanFound", "found_span", "interaction_targets", "plan_targets"]

ASSUMED_PERCENT: Final = 2.0
_SMALLEST: Final = 0.01  # % of the torque: what [plan] resolve may say
_LARGEST: Final = 50.0
_ASSUMED_SPAN: Final = (2000.0, 6500.0)
_PEAK_AT: Final = 0.9  # share of the range at which peak power is taken to be


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolve:
    """A size that has to be told, as somebody asked for it.

    Attributes
    ----------
    size : float
        The size. [N m, W or %]
    unit : str
        "N m", "W" or "%".
    window : tuple of (float, float) or None
        Where; None for all of the range. [rpm]
    pairs : tuple of (str, str)
        Builds, as (of, from); empty for each from the baseline.
    """

    size: float
    unit: str
    window: tuple[float, float] | None = None
    pairs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanFound:
    """Range of speed that will be measured.

    Attributes
    ----------
    rpm : tuple of (float, float)
        The range. [rpm]
    assumed : bool
        Nothing in the session says it.
    """

    rpm: tuple[float, float]
    assumed: bool


def found_span(session: Session, resolve: Resolve | None) -> SpanFound:
    """Range of speed that the session states, or that its windows and claims reach over.

    Parameters
    ----------
    session : Session
        What was declared. [rpm]
    resolve : Resolve or None
        What is asked. [rpm]

    Returns
    -------
    SpanFound
        [rpm]
    """
    if session.rpm_range is not None:
        return SpanFound(rpm=session.rpm_range, assumed=False)
    asked = [resolve.window] if resolve is not None and resolve.window is not None else []
    said = [claim.where for claim in session.claims if claim.where is not None]
    ends = [end for window in (*session.windows, *said, *asked) for end in window]
    low, high = min([_ASSUMED_SPAN[0], *ends]), max([_ASSUMED_SPAN[1], *ends])
    return SpanFound(rpm=(low, high), assumed=True)


def plan_targets(session: Session, resolve: Resolve | None, span: tuple[float, float]) -> tuple[Target, ...]:
    """Targets of a session: the size that was asked for, else its claims, else every build from the baseline.

    Parameters
    ----------
    session : Session
        What was declared. [N m, W]
    resolve : Resolve or None
        What is asked. [N m, W or %]
    span : tuple of (float, float)
        Range that will be measured. [rpm]

    Returns
    -------
    tuple of Target
        At least one. [%]

    Raises
    ------
    UnfinishedError
        If a size in N m or kW cannot be turned into per cent, because nothing says how large the torque is.
    InputError
        If the session has one build, the window lies beyond the range, or no session could be about such a size.
    """
    base = session.baseline.name
    others = [build.name for build in session.builds if not build.baseline]
    if not others:
        raise InputError(
            "a session of one build compares nothing", where=session.title,
            remedy="write a [[build]] for each set of parts in session.toml",
        )  # fmt: skip
    if resolve is None and session.claims:
        return tuple(_of_claim(session, claim, span) for claim in session.claims)
    wanted = resolve or Resolve(size=session.plan.resolve or ASSUMED_PERCENT, unit="%")
    if wanted.window is not None and not span[0] <= wanted.window[0] <= wanted.window[1] <= span[1]:
        raise InputError(
            f"the window lies beyond the range that is analysed, {span[0]:,.0f} to {span[1]:,.0f} rpm",
            where="--resolve", value=f"{wanted.window[0]:g}..{wanted.window[1]:g} rpm",
            remedy=Way.RANGE.said("move it inside, or widen rpm in [session]"),
        )  # fmt: skip
    percent = _percent(session, wanted.size, wanted.unit, wanted.window, span)
    if not _SMALLEST <= percent <= _LARGEST:
        raise InputError(
            f"a difference can be planned for from {_SMALLEST:g} to {_LARGEST:g} % of the torque", where="--resolve",
            value=f"{percent:.3g} %", remedy="check the number and its unit",
        )  # fmt: skip
    pairs = wanted.pairs or tuple((name, base) for name in others)
    return tuple(
        Target(
            name=f"{of} - {from_}", says=f"{of} against {from_}, {_where(wanted.window)}", ask=Ask.CLEAR,
            contrast=((of, 1.0), (from_, -1.0)), window=wanted.window, percent=percent, size=wanted.size,
            unit=wanted.unit,
        )
        for of, from_ in pairs
    )  # fmt: skip


def interaction_targets(builds: Sequence[Build], like: Target) -> tuple[Target, ...]:
    """Whether two factors act together, for every two of which four builds of this session are a square.

    Parameters
    ----------
    builds : sequence of Build
        The builds.
    like : Target
        Whose size and window are taken. [%]

    Returns
    -------
    tuple of Target
        One for each two factors that have such a square; none where there is none. [%]
    """
    found: dict[tuple[str, ...], Target] = {}
    for four in combinations(builds, 4):
        pair = _square(four)
        if pair is not None and pair not in found:
            weights = _signs(four, pair)
            found[pair] = Target(
                name=" with ".join(pair), says=f"whether {' and '.join(pair)} act together, {_where(like.window)}",
                ask=Ask.CLEAR, contrast=weights, window=like.window, percent=like.percent, size=like.size,
                unit=like.unit,
            )  # fmt: skip
    return tuple(found.values())


def _square(four: Sequence[Build]) -> tuple[str, ...] | None:
    """The two factors in which four builds are all combinations of two levels, while all else is the same."""
    found = {name for one, other in combinations(four, 2) for name in changed_factors(one, other)}
    changed = tuple(name for name in four[0].levels if name in found)
    if len(changed) != 2:
        return None
    cells = {tuple(build.levels[name] for name in changed) for build in four}
    levels = [{cell[place] for cell in cells} for place in (0, 1)]
    return changed if len(cells) == 4 and all(len(one) == 2 for one in levels) else None


def _signs(four: Sequence[Build], pair: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    first = four[0]
    return tuple(
        (build.name, (-1.0) ** sum(build.levels[name] != first.levels[name] for name in pair)) for build in four
    )


def _of_claim(session: Session, claim: Claim, span: tuple[float, float]) -> Target:
    weights = {claim.of: 1.0, claim.from_: -1.0}
    for name, sign in zip(claim.same_as or (), (-1.0, 1.0), strict=False):
        weights[name] = weights.get(name, 0.0) + sign
    unit = "%" if claim.in_percent else "N m" if claim.quantity is Quantity.TORQUE else "W"
    window = claim.where or _peak_window(span, claim.quantity)
    if claim.within is not None:
        size = claim.within * (100.0 if claim.in_percent else 1.0)
        percent = _percent(session, size, unit, claim.where, span)
    else:
        percent = session.plan.resolve or ASSUMED_PERCENT
        size, unit = _size(session, percent, unit, claim.where, span)
    return Target(
        name=claim.id, says=claim.says, ask=Ask.CLAIM if claim.within is None else Ask.WITHIN,
        contrast=tuple((name, weight) for name, weight in weights.items() if weight), window=window, percent=percent,
        size=size, unit=unit, at_peak=claim.where is None,
    )  # fmt: skip


def _peak_window(span: tuple[float, float], quantity: Quantity) -> tuple[float, float]:
    """One speed that stands for the peak: in the middle for torque, near the end for power."""
    at = span[0] + (0.5 if quantity is Quantity.TORQUE else _PEAK_AT) * (span[1] - span[0])
    return at, at


def _scale(
    session: Session, unit: str, window: tuple[float, float] | None, span: tuple[float, float]
) -> tuple[float | None, str]:
    """What a hundred per cent are in the unit, and the key that would say it. [N m or W]."""
    plan = session.plan
    if unit == "W" and window is None and plan.peak_power is not None:
        return plan.peak_power, "peak_power"
    if unit == "W":
        middle = 0.5 * sum(window or span)
        power = None if plan.mean_torque is None else plan.mean_torque * middle * pi / 30.0
        return power, "peak_power" if window is None else "mean_torque"
    return plan.mean_torque, "mean_torque"


def _percent(
    session: Session, size: float, unit: str, window: tuple[float, float] | None, span: tuple[float, float]
) -> float:
    if unit == "%":
        return size
    whole, key = _scale(session, unit, window, span)
    if whole is None:
        example = "180 N m" if key == "mean_torque" else "118 kW"
        raise UnfinishedError(
            f"{size_shown(size, unit)} cannot be turned into per cent of the curve", where="session.toml: plan",
            remedy=Way.SCALE.said(
                f'write {key} = "{example}" into a table [plan], roughly, or ask in per cent', example
            ),
        )  # fmt: skip
    return 100.0 * size / whole


def _size(
    session: Session, percent: float, unit: str, window: tuple[float, float] | None, span: tuple[float, float]
) -> tuple[float, str]:
    """Size in the unit of a claim, or in per cent where nothing says how large the torque is."""
    whole = None if unit == "%" else _scale(session, unit, window, span)[0]
    return (percent, "%") if whole is None else (0.01 * percent * whole, unit)


def _where(window: tuple[float, float] | None) -> str:
    return "over all of the range" if window is None else f"{window[0]:,.0f} to {window[1]:,.0f} rpm"
