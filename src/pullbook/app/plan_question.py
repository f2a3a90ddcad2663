"""What is asked of a plan, from the words in which it is asked."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError
from pullbook.plan.make_plan import PlanRequest
from pullbook.plan.targets import Resolve
from pullbook.quantities.toml_words import nearest
from pullbook.quantities.units import Dimension, find_unit, parse_quantity, parse_range

if TYPE_CHECKING:
    from pullbook.records.session import Session

__all__ = ["plan_request", "resolve_of", "time_of"]

_OVER: Final = re.compile(r"\s*(.+?)(?:\s+(?:over|at|in)\s+(.+?))?\s*", re.IGNORECASE)
_NUMBER: Final = re.compile(r"\s*[-+]?[\d.]+(?:[eE][-+]?\d+)?\s*(.*?)\s*")
_DAYS: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*days?\s*", re.IGNORECASE)
_UNITS: Final = {Dimension.TORQUE: "N m", Dimension.POWER: "W", Dimension.RATIO: "%"}
_LONGEST: Final = 60 * 24 * 3600.0
_EXAMPLE: Final = "write for example '6 N m over 2500..3500 rpm' or '1.5 %'"


def resolve_of(text: str, where: str = "--resolve") -> Resolve:
    """Size that has to be told, as in "6 N m over 2500..3500 rpm".

    Parameters
    ----------
    text : str
        The words.
    where : str
        Option or field, for the message.

    Returns
    -------
    Resolve
        [N m, W or %]

    Raises
    ------
    InputError
        If there is no such size or window.

    Examples
    --------
    >>> asked = resolve_of("6 N m over 2500..3500 rpm")
    >>> asked.size, asked.unit, asked.window
    (6.0, 'N m', (2500.0, 3500.0))
    """
    found = _OVER.fullmatch(text)
    size = found[1] if found is not None else ""
    unit = _NUMBER.fullmatch(size)
    known = find_unit(unit[1]) if unit is not None and unit[1] else None
    if known is None or known.dimension not in _UNITS:
        raise InputError(
            "this is no difference of torque or power, nor a share", where=where, value=text, remedy=_EXAMPLE
        )
    value = parse_quantity(size, known.dimension, where=where)
    value *= 100.0 if known.dimension is Dimension.RATIO else 1.0
    if not value > 0.0:
        raise InputError("the difference has to be above zero", where=where, value=text, remedy=_EXAMPLE)
    window = _window(found[2], where) if found is not None and found[2] else None
    return Resolve(size=value, unit=_UNITS[known.dimension], window=window)


def _window(text: str, where: str) -> tuple[float, float]:
    if ".." in text or "-" in text or " to " in text:
        return parse_range(text, Dimension.SPEED, where=where)
    speed = parse_quantity(text, Dimension.SPEED, where=where)
    return speed, speed


def time_of(text: str, day: float, where: str = "--within") -> float:
    """Time that a session may take, as in "1 day" or "6 h". [s].

    Parameters
    ----------
    text : str
        The words.
    day : float
        Length of a day at the bench. [s]
    where : str
        Option or field, for the message.

    Raises
    ------
    InputError
        If it is no time, or none that a session can take.

    Examples
    --------
    >>> time_of("1.5 days", 28_800.0), time_of("90 min", 28_800.0)
    (43200.0, 5400.0)
    """
    days = _DAYS.fullmatch(text)
    seconds = float(days[1]) * day if days is not None else parse_quantity(text, Dimension.TIME, where=where)
    if not 0.0 < seconds <= _LONGEST:
        raise InputError(
            "no session takes that long" if seconds > 0.0 else "the time has to be above zero",
            where=where, value=text, remedy="write for example '1 day' or '6 h'",
        )  # fmt: skip
    return seconds


def plan_request(
    session: Session, *, resolve: str = "", within: str = "", pair: tuple[str, str] = ("", ""), day: float,
    odds: float = 80.0,
) -> PlanRequest:  # fmt: skip
    """Request in the words of options.

    Parameters
    ----------
    session : Session
        Whose builds are named.
    resolve, within : str
        Size and time; empty for what the session says.
    pair : tuple of (str, str)
        Builds, of and from; empty for all from the baseline.
    day : float
        Length of a day at the bench. [s]
    odds : float
        Odds from which on an order counts as able to answer. [%]

    Returns
    -------
    PlanRequest
        [s]

    Raises
    ------
    InputError
        If one of the words is wrong.
    """
    if not 50.0 <= odds <= 99.0:
        raise InputError("odds lie between 50 and 99 %", where="--odds", value=f"{odds:g}", remedy="write 80")
    names = [build.name for build in session.builds]
    for option, name in (("--of", pair[0]), ("--from", pair[1])):
        if name and name not in names:
            raise InputError("the session has no such build", where=option, value=name, remedy=nearest(name, names))
    asked = resolve_of(resolve) if resolve else None
    if any(pair):
        if asked is None:
            raise InputError(
                "a pair needs the size that has to be told", where="--of", value=pair[0] or pair[1],
                remedy="say how large a difference has to be told, as in '6 N m over 2500..3500 rpm'",
            )  # fmt: skip
        asked = Resolve(size=asked.size, unit=asked.unit, window=asked.window, pairs=_pairs(session, pair))
    return PlanRequest(resolve=asked, within=time_of(within, day) if within else None, aim=odds / 100.0)


def _pairs(session: Session, pair: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    base = pair[1] or session.baseline.name
    if pair[0] == base:
        raise InputError("a build cannot be compared with itself", where="--of", value=base, remedy="name two builds")
    others = [pair[0]] if pair[0] else [build.name for build in session.builds if build.name != base]
    return tuple((of, base) for of in others)
