"""A pull as a little curve, so that a wrong file is seen before it is read."""

from __future__ import annotations

from functools import lru_cache
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["sparkline"]

_WIDTH: Final = 240
_HEIGHT: Final = 88
_EDGE: Final = 6
_MOST_KEPT: Final = 1_000  # curves, of some kB each: a page that follows what goes on shows the same ones over and over


def sparkline(speed_rpm: Sequence[float], torque: Sequence[float | None], says: str) -> str:
    """Curve of torque over speed as an SVG element; the scale is its own, from its lowest point to its top.

    Parameters
    ----------
    speed_rpm : (n,) sequence of float
        Speeds. [rpm]
    torque : (n,) sequence of float or None
        Torque or signal; None where there is none. [any]
    says : str
        Text alternative.

    Examples
    --------
    >>> sparkline([1000.0, 1500.0, 2000.0], [5.0, 8.0, 10.0], "3 points").partition('d="')[2]
    'M6 82l114-46 114-30"/></svg>'
    """
    return _drawn(tuple(speed_rpm), tuple(torque), says)


@lru_cache(maxsize=_MOST_KEPT)
def _drawn(speed_rpm: tuple[float, ...], torque: tuple[float | None, ...], says: str) -> str:
    points = [(x, y) for x, y in zip(speed_rpm, torque, strict=True) if y is not None]
    if not points:
        return ""
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, top = min(y for _, y in points), max(y for _, y in points)
    across, up = (_WIDTH - 2 * _EDGE) / ((right - left) or 1.0), (_HEIGHT - 2 * _EDGE) / ((top - low) or 1.0)
    # Steps in whole units of a box that is twice as large as it is drawn: half the text of a path with decimals.
    places = [(round(_EDGE + (x - left) * across), round(_HEIGHT - _EDGE - (y - low) * up)) for x, y in points]
    steps = "".join(f"{_joined(b[0] - a[0])}{_joined(b[1] - a[1])}" for a, b in pairwise(places))
    return (
        f'<svg class="spark" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{escape(says)}">'
        f'<path d="M{places[0][0]} {places[0][1]}l{steps.strip()}"/></svg>'
    )


def _joined(step: int) -> str:
    """Number in a path: a minus parts it from the one before, a positive one needs a blank."""
    return str(step) if step < 0 else f" {step}"
