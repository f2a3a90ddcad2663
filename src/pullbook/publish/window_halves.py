"""Half-widths of all windows, each quantity told by what it shares with another, and what cannot be told so."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from pullbook.publish.window_codes import coded_within, print_alike, printed_range

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.publish.window_codes import Codes
    from pullbook.quantities.arrays import BoolArray, FloatArray

__all__ = ["Quantity", "halves_of", "shared_checks"]

_FINE: Final = 200  # units in the smallest half-width or share
_SHARED_FINE: Final = 1000  # units in the smallest half-width, where it has to print alike for several pairs


class Quantity(NamedTuple):
    """One number of every window: exact, as the reader works it out, and its doubt.

    Attributes
    ----------
    values, seen : (m,) array of float
        Estimate, and what is worked out from the letters. [any]
    halves : (m,) array of float
        Half-width; NaN where no doubt can be stated. [as `values`]
    factors : list of float
        Sizes of the units in which it is printed. [as `values`]
    """

    values: FloatArray
    seen: FloatArray
    halves: FloatArray
    factors: list[float]

    @property
    def doubtful(self) -> bool:
        """A doubt can be stated for every window."""
        return bool(self.halves.size and np.isfinite(self.halves).all() and self.halves.min() > 0.0)

    @property
    def alike(self) -> BoolArray:
        """Windows for which the estimate that is worked out prints the same digits."""
        return print_alike(self.values, self.seen, self.halves, self.factors)

    def range(self) -> tuple[FloatArray, FloatArray]:
        """Half-widths that print and decide the same. [as `values`]."""
        return printed_range(self.halves, self.values, self.factors)


Odd = list[tuple[int, float, float | None]]


def halves_of(quantities: Mapping[str, Quantity], ends_rpm: FloatArray) -> tuple[dict[str, Any], dict[str, Odd]]:
    """Half-widths of the torque, the share and the power of one pair.

    Parameters
    ----------
    quantities : mapping of str to Quantity
        By name; "power" is told by what it is of "torque" times the sum of the two ends.
    ends_rpm : (n,) array of float
        Speeds at which a window may begin and end. [rpm]

    Returns
    -------
    halves : dict of str to list or None
        As [unit, letters]; None where no doubt can be stated.
    odd : dict of str to list
        Windows whose digits cannot be had so, as (number of the window, estimate, half-width).
    """
    halves: dict[str, Any] = {}
    odd: dict[str, Odd] = {}
    torque: FloatArray | None = None
    for name in ("torque", "percent", "power"):
        if name not in quantities:
            continue
        one = quantities[name]
        told = one.alike
        halves[name] = None
        if one.doubtful:
            by = _lever(torque, ends_rpm) if name == "power" else np.ones(one.halves.size)
            low, high = one.range()
            codes, seen = coded_within(low / by, high / by, ends_rpm.size, _FINE)
            halves[name], seen = list(codes), seen * by
            told &= (low <= seen) & (seen <= high)
            torque = seen if name == "torque" else torque
        _note(odd, name, one, told)
    return halves, odd


def _lever(torque: FloatArray | None, ends_rpm: FloatArray) -> FloatArray:
    """What the half-width of the power is told by, as the script works it out. [N m rpm]."""
    if torque is None:
        raise AssertionError("a power has a doubt where the torque has one")
    low, high = np.triu_indices(ends_rpm.size, 1)
    found: FloatArray = torque * (np.round(ends_rpm, 6)[low] + np.round(ends_rpm, 6)[high])
    return found


def shared_checks(
    checks: Sequence[Quantity], ends: int
) -> tuple[Codes | None, list[tuple[float | None, dict[str, Odd]]]]:
    """Half-widths of the checks of all pairs: one scatter, and for each pair what it is to be multiplied by.

    Parameters
    ----------
    checks : sequence of Quantity
        Of every pair. Their half-widths are those of the first times a number, because the scatter is that of all
        pulls together.
    ends : int
        Number of speeds at which a window may begin and end. [1]

    Returns
    -------
    codes : Codes or None
        Half-widths of the first pair; None where no doubt can be stated. [N m]
    pairs : list of (float or None, dict)
        Factor of each pair, and windows whose digits cannot be had so. [1, N m]
    """
    if not all(one.doubtful for one in checks):
        return None, [(None, _noted(one, one.alike)) for one in checks]
    factors = [float(np.median(one.halves / checks[0].halves)) for one in checks]
    ranges = [one.range() for one in checks]
    low = np.max([low / factor for (low, _), factor in zip(ranges, factors, strict=True)], axis=0)
    high = np.min([high / factor for (_, high), factor in zip(ranges, factors, strict=True)], axis=0)
    codes, seen = coded_within(low, high, ends, _SHARED_FINE)
    found: list[tuple[float | None, dict[str, Odd]]] = []
    for one, factor, (least, most) in zip(checks, factors, ranges, strict=True):
        own = factor * seen
        found.append((factor, _noted(one, one.alike & (least <= own) & (own <= most))))
    return codes, found


def _noted(one: Quantity, told: BoolArray) -> dict[str, Odd]:
    odd: dict[str, Odd] = {}
    _note(odd, "check", one, told)
    return odd


def _note(odd: dict[str, Odd], name: str, one: Quantity, told: BoolArray) -> None:
    places = np.flatnonzero(~told)
    if places.size:
        odd[name] = [(int(at), *_shortest(one, int(at))) for at in places]


def _shortest(one: Quantity, at: int) -> tuple[float, float | None]:
    """Estimate and half-width with no more digits than it takes to print the same."""
    value, half = float(one.values[at]), float(one.halves[at])
    alone = Quantity(one.values[at : at + 1], one.values[at : at + 1], one.halves[at : at + 1], one.factors)
    values = (float(f"{value:.{digits}g}") for digits in range(3, 17))
    short = next((some for some in values if alone._replace(seen=np.array([some])).alike[0]), value)
    if not np.isfinite(half):
        return short, None
    low, high = alone.range() if alone.doubtful else (alone.halves, alone.halves)
    halves = (float(f"{half:.{digits}g}") for digits in range(3, 17))
    return short, next((some for some in halves if low[0] <= some <= high[0]), half)
