"""A pull as a little curve, so that a wrong file is seen before it is read."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["sparkline"]

_WIDTH: Final = 120.0
_HEIGHT: Final = 44.0
_EDGE: Final = 3.0


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
    >>> sparkline([1000.0, 2000.0], [5.0, 10.0], "2 points").count("L")
    1
    """
    points = [(x, y) for x, y in zip(speed_rpm, torque, strict=True) if y is not None]
    if not points:
        return ""
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, top = min(y for _, y in points), max(y for _, y in points)
    across, up = (_WIDTH - 2 * _EDGE) / ((right - left) or 1.0), (_HEIGHT - 2 * _EDGE) / ((top - low) or 1.0)
    places = [f"{_EDGE + (x - left) * across:.1f} {_HEIGHT - _EDGE - (y - low) * up:.1f}" for x, y in points]
    return (
        f'<svg class="spark" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" role="img" aria-label="{escape(says)}">'
        f'<path d="M{"L".join(places)}"/></svg>'
    )
