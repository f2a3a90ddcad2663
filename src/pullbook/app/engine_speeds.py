"""Engine speeds that somebody asks the virtual engine for, out of one line of text."""

from __future__ import annotations

import math
import re
from typing import Final

from pullbook.errors import InputError

__all__ = ["possible_speed", "speeds_of"]

_RANGE: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*:\s*(\d+(?:\.\d+)?)\s*:\s*(\d+(?:\.\d+)?)\s*")
_MOST_POINTS: Final = 400
_POSSIBLE: Final = (300.0, 20000.0)  # rpm; what the virtual engine runs at
_REMEDY: Final = "write for example 2000:6500:250 (from, to, step), or 2000,3500,5000"


def speeds_of(text: str, where: str) -> tuple[float, ...]:
    """Engine speeds of a range, or of a list.

    Parameters
    ----------
    text : str
        As in "2000:6500:250" or "2000,3500".
    where : str
        What to call it in a message.

    Returns
    -------
    tuple of float
        Ascending, each once. [rpm]

    Raises
    ------
    InputError
        If it is neither, if it is empty or too long, or if the engine does not run at one of them.

    Examples
    --------
    >>> speeds_of("2000:3000:500", "--rpm"), speeds_of("4000, 2500", "--rpm")
    ((2000.0, 2500.0, 3000.0), (2500.0, 4000.0))
    """
    found = _RANGE.fullmatch(text)
    speeds = _listed(text, where) if found is None else _counted(found, text, where)
    return tuple(possible_speed(speed, where) for speed in speeds)


def possible_speed(speed_rpm: float, where: str) -> float:
    """The engine speed as it is given, where an engine may run.

    Parameters
    ----------
    speed_rpm : float
        Engine speed. [rpm]
    where : str
        What to call it in a message.

    Returns
    -------
    float
        The same. [rpm]

    Raises
    ------
    InputError
        If no engine runs at it, or it is no number.

    Examples
    --------
    >>> possible_speed(2500.0, "--at")
    2500.0
    """
    if not _POSSIBLE[0] <= speed_rpm <= _POSSIBLE[1]:
        raise InputError(
            "the engine speed is out of range", where=where, value=f"{speed_rpm:g}", remedy="give 300 to 20000 rpm"
        )
    return speed_rpm


def _listed(text: str, where: str) -> tuple[float, ...]:
    try:
        speeds = tuple(sorted({float(part) for part in text.split(",")}))
    except ValueError:
        speeds = ()
    if not speeds or not all(math.isfinite(speed) for speed in speeds):
        raise InputError("this is no list of engine speeds", where=where, value=text[:80], remedy=_REMEDY)
    return _few(speeds, len(speeds), text, where)


def _counted(found: re.Match[str], text: str, where: str) -> tuple[float, ...]:
    low, high, step = (float(part) for part in found.groups())
    if not (low <= high and step > 0.0):
        raise InputError("this range of engine speeds is empty", where=where, value=text[:80], remedy=_REMEDY)
    count = int(min((high - low) / step, 1e9) + 1e-9) + 1
    return _few(tuple(low + number * step for number in range(min(count, _MOST_POINTS + 1))), count, text, where)


def _few(speeds: tuple[float, ...], count: int, text: str, where: str) -> tuple[float, ...]:
    if count > _MOST_POINTS:
        raise InputError(
            f"these are {count} speeds", where=where, value=text[:80], remedy=f"ask for at most {_MOST_POINTS}"
        )
    return speeds
