"""When each cylinder fires: from the firing order, the crank throws and the banks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.errors import EngineFileError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["USUAL_ORDERS", "angles_from_throws", "check_order", "even_angles", "intervals"]

CYCLE: Final = 720.0
USUAL_ORDERS: Final[dict[int, tuple[int, ...]]] = {
    1: (1,),
    2: (1, 2),
    3: (1, 3, 2),
    4: (1, 3, 4, 2),
    5: (1, 2, 4, 5, 3),
    6: (1, 5, 3, 6, 2, 4),
    8: (1, 8, 4, 3, 6, 5, 7, 2),
}
"""Firing order that most engines with so many cylinders have."""


def check_order(order: Sequence[int], cylinders: int, where: str) -> None:
    """Refuse a firing order that has not each cylinder once.

    Raises
    ------
    EngineFileError
        If a cylinder is missing, twice, or not on the engine.

    Examples
    --------
    >>> check_order([1, 3, 4, 2], 4, "engine.toml")
    """
    wanted = set(range(1, cylinders + 1))
    wrong = sorted(set(order) - wanted)
    missing = sorted(wanted - set(order))
    twice = sorted({number for number in order if list(order).count(number) > 1})
    for numbers, what in ((wrong, "is not on the engine"), (twice, "fires twice"), (missing, "never fires")):
        if numbers:
            raise EngineFileError(
                f"cylinder {numbers[0]} {what}", where=where, value=str(list(order)),
                remedy=f"write each number from 1 to {cylinders} once",
            )  # fmt: skip


def even_angles(order: Sequence[int]) -> tuple[float, ...]:
    """Firing angle of each cylinder at even intervals, by cylinder number. [deg].

    Parameters
    ----------
    order : sequence of int
        Cylinder numbers in the order in which they fire.

    Returns
    -------
    tuple of float
        Crank angle of firing, the first of the order at 0. [deg]

    Examples
    --------
    >>> even_angles([1, 3, 4, 2])
    (0.0, 540.0, 180.0, 360.0)
    """
    step = CYCLE / len(order)
    return tuple(order.index(number) * step for number in range(1, len(order) + 1))


def angles_from_throws(
    order: Sequence[int], throws_deg: Sequence[float], axes_deg: Sequence[float], where: str
) -> tuple[float, ...]:
    """Firing angle of each cylinder from the crank, by cylinder number. [deg].

    A piston is at top dead centre when its crank pin points along the axis of its cylinder, which happens once a turn;
    in which of the two turns a cylinder fires follows from the firing order.

    Parameters
    ----------
    order : sequence of int
        Cylinder numbers in the order in which they fire.
    throws_deg : sequence of float
        Angle of each cylinder's crank pin against the first one, in the direction of rotation, by cylinder number.
        [deg]
    axes_deg : sequence of float
        Angle of each cylinder's axis in the same direction, by cylinder number. [deg]
    where : str
        Place to name in a message.

    Returns
    -------
    tuple of float
        Crank angle of firing, the first of the order at 0. [deg]

    Raises
    ------
    EngineFileError
        If the crank cannot fire in that order within two turns.

    Examples
    --------
    A V-twin of 45 degrees with one crank pin: 315 and 405 degrees between firings.

    >>> angles_from_throws([1, 2], [0, 0], [0, -45], "engine.toml")
    (0.0, 315.0)
    """
    turn = CYCLE / 2.0
    tops = [(axis - throw) % turn for axis, throw in zip(axes_deg, throws_deg, strict=True)]
    first = tops[order[0] - 1]
    found = {order[0]: 0.0}
    last = 0.0
    for number in order[1:]:
        angle = (tops[number - 1] - first) % turn
        while angle <= last + 1e-6:
            angle += turn
        found[number] = last = angle
    if last >= CYCLE - 1e-6:
        raise EngineFileError(
            f"this crank fires in that order only in {math.ceil((last + 1.0) / turn)} turns, not 2", where=where,
            value=" ".join(f"{throw:g}" for throw in throws_deg), remedy="check crank_throws, banks and firing_order",
        )  # fmt: skip
    return tuple(found[number] for number in sorted(found))


def intervals(angles_deg: Sequence[float]) -> tuple[float, ...]:
    """Angles between one firing and the next, in the order of time. [deg].

    Parameters
    ----------
    angles_deg : sequence of float
        Crank angles of firing, in any order: those of all cylinders or of one bank. [deg]

    Examples
    --------
    >>> intervals([0.0, 180.0, 270.0, 450.0])
    (180.0, 90.0, 180.0, 270.0)
    """
    times = sorted(angles_deg)
    return tuple(after - before for before, after in zip(times, [*times[1:], times[0] + CYCLE], strict=True))
