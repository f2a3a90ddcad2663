"""Half-widths as short text, so that whoever reads it prints the same digits as from the numbers themselves.

A half-width is printed with two significant digits, in one unit system or the other, and says whether a gain is
decided. Any number that prints and decides the same is as good as the exact one; of those, the one is written that
differs least from the number before it, which is mostly the same number again. Where the unit of the text is too
coarse for that, the exact number is given beside it.
"""

from __future__ import annotations

import string
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pullbook.quantities.arrays import BoolArray, FloatArray

__all__ = ["Codes", "coded_curve", "coded_halves", "decoded", "print_alike", "whole_numbers"]

_LETTERS: Final = f"{string.ascii_uppercase}{string.ascii_lowercase}{string.digits}-_"
_MARGIN: Final = 1e-9  # kept from the ends of a range, where rounding could go either way
_FINENESS: Final = 400  # units in the smallest half-width
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
        Second differences of the rounded curve, which are small.
    """
    whole = np.round(values / unit).astype(np.int64)
    steps = np.diff(whole, prepend=0)
    return Codes(unit=unit, text=whole_numbers(np.diff(steps, prepend=0).tolist()))


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
    return np.cumsum(np.cumsum(found)) * codes.unit


def coded_halves(
    halves: FloatArray, values: FloatArray, factors: Sequence[float], ends: int
) -> tuple[Codes, BoolArray]:
    """Half-widths of all windows as text.

    Parameters
    ----------
    halves, values : (n (n - 1)/2,) array of float
        Half-width and estimate of each window, by lower end, then by upper end. [any]
    factors : sequence of float
        Sizes of the units in which they are printed. [as `halves`]
    ends : int
        Number n of ends. [1]

    Returns
    -------
    codes : Codes
        What is to be added to the half-width of the window before, which has the same lower end; the first window of
        a lower end follows the one with the same upper end.
    odd : (n (n - 1)/2,) array of bool
        Windows for which no whole number of units prints like the half-width.
    """
    low, high = _alike(halves, factors)
    size = np.abs(values)
    decided = halves < size
    high = np.where(decided, np.minimum(high, size * (1.0 - _MARGIN)), high)
    low = np.where(decided, low, np.maximum(low, size * (1.0 + _MARGIN)))
    unit = float(f"{halves.min() / _FINENESS:.1e}")
    least, most = np.ceil(low / unit).astype(np.int64), np.floor(high / unit).astype(np.int64)
    odd = least > most
    most[odd] = least[odd]
    return Codes(unit=unit, text=whole_numbers(_steps(least.tolist(), most.tolist(), ends))), odd


def _steps(least: list[int], most: list[int], ends: int) -> list[int]:
    """Smallest steps from window to window that stay within what is allowed."""
    above = [0] * ends
    steps: list[int] = []
    number = 0
    for low in range(ends - 1):
        last = above[low + 1]
        for high in range(low + 1, ends):
            now = min(max(last, least[number]), most[number])
            steps.append(now - last)
            above[high] = last = now
            number += 1
    return steps


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
