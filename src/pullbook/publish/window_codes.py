"""Half-widths as short text, so that whoever reads it prints the same digits as from the numbers themselves.

A half-width is printed with two significant digits, in one unit system or the other, and says whether a gain is
decided. Any number that prints and decides the same is as good as the exact one; of those, the one is written that
differs least from what its neighbours lead to expect. Where the unit of the text is too coarse for that, the exact
number is given beside it.
"""

from __future__ import annotations

import string
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pullbook.quantities.arrays import BoolArray, FloatArray

__all__ = ["Codes", "coded_curve", "coded_within", "decoded", "print_alike", "printed_range", "whole_numbers"]

_LETTERS: Final = f"{string.ascii_uppercase}{string.ascii_lowercase}{string.digits}-_"
_MARGIN: Final = 1e-9  # kept from the ends of a range, where rounding could go either way
_ORDER: Final = 4  # of the differences in which a curve is written: they are shortest
_TIE: Final = 1e-6  # of the last digit printed


class Codes(NamedTuple):
    """Numbers as text.

    Attributes
    ----------
    unit : float
        What the whole numbers are multiplied by. [as the numbers]
    text : str
        The whole numbers, as `whole_numbers` writes them.
    """

    unit: float
    text: str


def whole_numbers(values: Iterable[int]) -> str:
    """Whole numbers as letters, five bits in each and the sign in the lowest bit of the first.

    Parameters
    ----------
    values : iterable of int
        The numbers. [1]

    Returns
    -------
    str
        One to a few letters a number, without anything between them.

    Examples
    --------
    >>> whole_numbers([0, 1, -1, 16])
    'ACDgB'
    """
    return "".join(_letters(value) for value in values)


def _letters(value: int) -> str:
    left = value << 1 if value >= 0 else (-value << 1) | 1
    text = ""
    while left > 31:
        text += _LETTERS[left & 31 | 32]
        left >>= 5
    return text + _LETTERS[left]


def coded_curve(values: FloatArray, unit: float) -> Codes:
    """A smooth curve, rounded to whole units.

    Parameters
    ----------
    values : (k,) array of float
        The curve at even distances. [any]
    unit : float
        What it is rounded to. [as `values`]

    Returns
    -------
    Codes
        Fourth differences of the rounded curve, which are small.
    """
    whole = np.round(values / unit).astype(np.int64)
    for _ in range(_ORDER):
        whole = np.diff(whole, prepend=0)
    return Codes(unit=unit, text=whole_numbers(whole.tolist()))


def decoded(codes: Codes) -> FloatArray:
    """The curve that a reader of `coded_curve` sees. [as the curve].

    Examples
    --------
    >>> decoded(coded_curve(np.array([1.04, 2.0, 3.5]), 0.25))
    array([1.  , 2.  , 3.5])
    """
    found: list[int] = []
    value = shift = 0
    for letter in codes.text:
        at = _LETTERS.index(letter)
        value |= (at & 31) << shift
        shift += 5
        if at < 32:
            found.append(-(value >> 1) if value & 1 else value >> 1)
            value = shift = 0
    whole = np.array(found, dtype=np.int64)
    for _ in range(_ORDER):
        whole = np.cumsum(whole)
    return whole.astype(np.float64) * codes.unit


def printed_range(halves: FloatArray, values: FloatArray, factors: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    """Range of half-widths that print the same digits as those given, and leave decided what is decided.

    Parameters
    ----------
    halves, values : (m,) array of float
        Half-width and estimate of each window. [any]
    factors : sequence of float
        Sizes of the units in which they are printed. [as `halves`]

    Returns
    -------
    low, high : (m,) array of float
        Ends of the range. [as `halves`]
    """
    low, high = _alike(halves, factors)
    size = np.abs(values)
    decided = halves < size
    high = np.where(decided, np.minimum(high, size * (1.0 - _MARGIN)), high)
    low = np.where(decided, low, np.maximum(low, size * (1.0 + _MARGIN)))
    return low, high


def coded_within(low: FloatArray, high: FloatArray, ends: int, fineness: int) -> tuple[Codes, FloatArray]:
    """Numbers of all windows as text, each of them anywhere in a range.

    Parameters
    ----------
    low, high : (n (n - 1)/2,) array of float
        Range of each window, by lower end, then by upper end; above zero. [any]
    ends : int
        Number n of ends. [1]
    fineness : int
        Units in the smallest number. [1]

    Returns
    -------
    codes : Codes
        What is to be added to what is expected of each window: the number of the window with the same upper end and
        the lower end before, changed as that of the window before changed.
    seen : (n (n - 1)/2,) array of float
        What is read out of it; outside a range that holds no whole number of units. [as `low`]
    """
    unit = float(f"{low.min() / fineness:.1e}")
    least, most = np.ceil(low / unit).astype(np.int64), np.floor(high / unit).astype(np.int64)
    steps, values = _steps(least.tolist(), np.maximum(least, most).tolist(), ends)
    return Codes(unit=unit, text=whole_numbers(steps)), np.array(values, dtype=np.float64) * unit


def _steps(least: list[int], most: list[int], ends: int) -> tuple[list[int], list[int]]:
    """Smallest steps from what is expected of a window to what is allowed, and where they lead."""
    above = [0] * ends
    steps: list[int] = []
    values: list[int] = []
    for low in range(ends - 1):
        change = 0  # from the window with the lower end before
        for high in range(low + 1, ends):
            expected = above[high] + change
            now = min(max(expected, least[len(values)]), most[len(values)])
            steps.append(now - expected)
            values.append(now)
            change = now - above[high]
            above[high] = now
    return steps, values


def _alike(halves: FloatArray, factors: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    """Range of half-widths that print the same two digits in every unit."""
    low, high = np.zeros_like(halves), np.full_like(halves, np.inf)
    for factor in factors:
        shown = halves / factor
        last = 10.0 ** (_exponent(shown) - 1.0)
        digits = np.floor(shown / last + 0.5)
        low = np.maximum(low, factor * np.maximum(digits - 0.5, 9.95) * last)
        high = np.minimum(high, factor * (digits + 0.5) * last)
    return low * (1.0 + _MARGIN), high * (1.0 - _MARGIN)


def _exponent(shown: FloatArray) -> FloatArray:
    """Power of ten of a number that is written with two digits."""
    power = np.floor(np.log10(shown))
    found: FloatArray = np.where(shown >= 9.95 * 10.0**power, power + 1.0, power)
    return found


def print_alike(values: FloatArray, others: FloatArray, halves: FloatArray, factors: Sequence[float]) -> BoolArray:
    """Whether two estimates with the same half-width print the same digits in every unit.

    Parameters
    ----------
    values, others : (m,) array of float
        Estimates. [any]
    halves : (m,) array of float
        Half-widths; NaN where none is known, and three digits of the estimate are printed. [any]
    factors : sequence of float
        Sizes of the units in which they are printed. [as `values`]

    Returns
    -------
    (m,) array of bool
        False also where the last digit may go either way.

    Examples
    --------
    >>> print_alike(np.array([1.24, 1.24]), np.array([1.19, 1.26]), np.array([3.0, 3.0]), [1.0]).tolist()
    [True, False]
    """
    alike = np.ones(values.shape, dtype=np.bool_)
    for factor in factors:
        with np.errstate(divide="ignore"):
            size = np.floor(np.log10(np.abs(values / factor)))
            last = 10.0 ** np.maximum(
                np.where(np.isfinite(halves), _exponent(halves / factor) - 1.0, size - 2.0), -300.0
            )
        one, other = (np.abs(some / factor) / last + 0.5 for some in (values, others))
        near = np.minimum(np.abs(one - np.round(one)), np.abs(other - np.round(other))) < _TIE
        alike &= (np.floor(one) == np.floor(other)) & ((np.sign(values) == np.sign(others)) | (np.floor(one) == 0.0))
        alike &= ~near
    return alike
