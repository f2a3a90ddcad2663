"""Walls and open ends of pipes, from what the file says about them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.network_ends import OpenEnd, Side
from pullbook.engine.network_pipes import Wall

if TYPE_CHECKING:
    from pullbook.engine.parts_running import Walls

__all__ = ["MOUTHS", "area", "mouth", "mouth_area", "wall_at", "wall_of"]

# Loss coefficient of the inflow and end correction in radii by shape of the mouth [1, 2].
MOUTHS: Final = {"plain": (0.9, 0.6133), "flanged": (0.5, 0.8217), "bellmouth": (0.05, 0.6133)}
_COOLED: Final = frozenset({"exhaust_port"})


def wall_of(walls: Walls, side: Side, group: str) -> Wall:
    """Wall of a group of pipes; ports are cooled by the head and keep their temperature."""
    by_group = walls.intake if side is Side.INTAKE else walls.exhaust
    return wall_at(walls, side, by_group[group], cooled=group in _COOLED)


def wall_at(walls: Walls, side: Side, temperature: float, *, cooled: bool = False) -> Wall:
    """Wall of a temperature.

    Parameters
    ----------
    walls : Walls
        What all walls have in common.
    side : Side
        Side of the engine.
    temperature : float
        Temperature. [K]
    cooled : bool
        Whether something else holds its temperature.
    """
    return Wall(
        temperature=temperature,
        follows=walls.balanced and side is Side.EXHAUST and not cooled,
        outer_coefficient=walls.outer_coefficient,
        roughness=walls.roughness,
        friction=walls.friction,
        heat=walls.heat,
    )


def mouth(kind: str, diameter: float) -> OpenEnd:
    """Open end of a pipe.

    Flow out of a pipe loses its whole dynamic pressure in the open air and nothing on the way; flow into it loses by
    the vena contracta behind the edge [2]_. The end correction is that of Levine and Schwinger for a thin-walled pipe
    [1]_; a rounded mouth is given the same, since it has no better one.

    Parameters
    ----------
    kind : str
        "plain", "flanged" or "bellmouth".
    diameter : float
        Diameter of the end. [m]

    Returns
    -------
    OpenEnd
        The end.

    References
    ----------
    .. [1] H. Levine, J. Schwinger, "On the radiation of sound from an unflanged circular pipe", Physical Review 73,
       1948, p. 383, abstract: 0.6133 radii; flanged 0.8217 radii from memory.
    .. [2] I. E. Idelchik, "Handbook of Hydraulic Resistance", section 3: inlet of a thin-walled pipe in the open about
       0.9 to 1.0, flush with a wall 0.5, rounded 0.03 to 0.1 (from memory).

    Examples
    --------
    >>> round(mouth("plain", 0.040).correction * 1e3, 2)
    12.27
    """
    loss, radii = MOUTHS[kind]
    return OpenEnd(loss_in=loss, loss_out=0.0, correction=radii * diameter / 2.0)


def area(diameter: float) -> float:
    """Area of a circle. [m2].

    Parameters
    ----------
    diameter : float
        Diameter. [m]
    """
    return math.pi / 4.0 * diameter * diameter


def mouth_area(diameter: float, *, bellmouth: bool) -> float:
    r"""Effective area of the mouth of a pipe in the wall of a volume, for flow into the pipe. [m2].

    .. math:: A_e = A / \sqrt{1 + K}

    so that the orifice loses what a loss coefficient K would.

    Parameters
    ----------
    diameter : float
        Diameter of the mouth. [m]
    bellmouth : bool
        Whether it is rounded.

    Examples
    --------
    >>> round(mouth_area(0.040, bellmouth=False) / area(0.040), 4)
    0.8165
    """
    loss, _ = MOUTHS["bellmouth" if bellmouth else "flanged"]
    return area(diameter) / math.sqrt(1.0 + loss)
