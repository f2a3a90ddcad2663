"""Numbers as a sentence needs them: value, doubt and unit, in the reader's units, with the digits that are earned."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.quantities.rounding import digits, round_to_doubt
from pullbook.quantities.showing import UnitSystem, shown_unit
from pullbook.quantities.units import Dimension

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import Interval

__all__ = ["Measure", "places", "rounded", "separated"]

_LONG: Final = re.compile(r"\d{4,}(?=\D|$)")


def places(half_width: float) -> int:
    """Decimals that keep two significant digits of a half-width.

    One digit more than the shortest honest form, because in a sentence "6 ± 6 N m" would contradict the word "gains".

    Parameters
    ----------
    half_width : float
        Half the width of an interval, in the unit that is shown. [any]

    Returns
    -------
    int
        Decimals after the point; negative to round to tens, hundreds and so on.

    References
    ----------
    .. [1] JCGM 100:2008, "Evaluation of measurement data (GUM)", 7.2.6: at most two significant digits of an
       uncertainty (from memory).

    Examples
    --------
    >>> [places(half) for half in (5.9, 0.962, 0.997, 23.0, 480.0)]
    [1, 2, 1, 0, -1]
    """
    mantissa, exponent = f"{half_width:.1e}".split("e")
    return len(mantissa) - 2 - int(exponent)


def rounded(value: float, half_width: float, *, signed: bool = False) -> str:
    """Digits of a value with two significant digits of its half-width; three of its own where there is none.

    Parameters
    ----------
    value, half_width : float
        The number and half the width of its interval, in the unit that is shown. [any]
    signed : bool
        Write the plus of a positive number.

    Returns
    -------
    str
        Digits without unit.
    """
    if not (math.isfinite(half_width) and half_width > 0.0):
        return round_to_doubt(value, math.nan, signed=signed)
    return digits(value, places(half_width), signed=signed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What a number is in and how it is shown.

    Attributes
    ----------
    symbol : str
        Unit that the reader sees.
    factor : float
        Size of that unit. [SI unit, or the unit of the record]
    """

    symbol: str
    factor: float

    @classmethod
    def torque(cls, system: UnitSystem, *, relative: bool = False) -> Measure:
        """Torque, or the share of the baseline in a relative session."""
        return cls.percent() if relative else cls._of(Dimension.TORQUE, system)

    @classmethod
    def power(cls, system: UnitSystem) -> Measure:
        """Power."""
        return cls._of(Dimension.POWER, system)

    @classmethod
    def percent(cls) -> Measure:
        """A record's number that is already in per cent."""
        return cls(symbol="%", factor=1.0)

    @classmethod
    def named(cls, unit: str, system: UnitSystem) -> Measure:
        """Measure of a record that names its unit: "N m", "W" or "%"."""
        return {"N m": cls.torque(system), "W": cls.power(system), "%": cls.percent()}[unit]

    @classmethod
    def _of(cls, dimension: Dimension, system: UnitSystem) -> Measure:
        unit = shown_unit(dimension, system)
        return cls(symbol=unit.symbol, factor=unit.factor)

    def shown(self, values: FloatArray) -> FloatArray:
        """Array in the shown unit.

        Parameters
        ----------
        values : (n,) array of float
            Numbers of a record. [unit of the record]

        Returns
        -------
        (n,) array of float
            The same. [shown unit]
        """
        return values / self.factor

    def exact(self, value: float) -> str:
        """A number that somebody chose, without doubt, as in "8 kW".

        Examples
        --------
        >>> Measure.power(UnitSystem.METRIC).exact(8000.0), Measure.torque(UnitSystem.US).exact(8.0)
        ('8 kW', '5.90 lb ft')
        """
        number = value / self.factor
        decimals = next((d for d in (0, 1, 2) if abs(number - round(number, d)) < 1e-9 * max(abs(number), 1.0)), None)
        shown = round_to_doubt(number, math.nan) if decimals is None else digits(number, decimals)
        return f"{separated(shown)} {self.symbol}"

    def stated(self, interval: Interval, *, signed: bool = False, mirrored: bool = False) -> str:
        """Value with its doubt and unit; "±" where the interval is symmetric to the digits shown.

        Parameters
        ----------
        interval : Interval
            What is known. [unit of the record]
        signed : bool
            A gain is written with its plus.
        mirrored : bool
            The sign is turned, for a loss that is told as "gives up".

        Returns
        -------
        str
            As in "11.5 ± 2.1 N m"; the bare value with three digits where no doubt can be stated.

        Examples
        --------
        >>> from pullbook.records.curve import Interval
        >>> Measure.power(UnitSystem.METRIC).stated(Interval(value=9100.0, low=8200.0, high=10000.0))
        '9.10 ± 0.90 kW'
        >>> Measure.percent().stated(Interval(value=0.42, low=0.31, high=0.63))
        '0.42 % (0.31 to 0.63)'
        """
        turn = -1.0 if mirrored else 1.0
        value, *ends = (turn * number / self.factor for number in (interval.value, interval.low, interval.high))
        low, high = sorted(ends)
        doubt = (high - low) / 2.0
        shown = rounded(value, doubt, signed=signed)
        if not (math.isfinite(doubt) and doubt > 0.0):
            return f"{separated(shown)} {self.symbol}"
        below, above = (rounded(side, doubt) for side in (value - low, high - value))
        if below == above:
            return f"{separated(shown)} ± {separated(above)} {self.symbol}"
        return f"{separated(shown)} {self.symbol} ({self.range(low, high, doubt, signed=signed)})"

    def barely(self, interval: Interval) -> bool:
        """Whether an interval without zero looks, in the digits shown, as if it had zero in it.

        Examples
        --------
        >>> from pullbook.records.curve import Interval
        >>> Measure.percent().barely(Interval(value=6.44, low=0.08, high=12.8))
        True
        """
        nearest = interval.low if interval.low > 0.0 else interval.high
        doubt = (interval.high - interval.low) / 2.0 / self.factor
        if nearest * interval.value <= 0.0 or not (math.isfinite(doubt) and doubt > 0.0):
            return False
        size, side = abs(interval.value) / self.factor, abs(interval.value - nearest) / self.factor
        return rounded(size, doubt) == rounded(side, doubt)

    def below(self, value: float) -> str:
        """A limit that a number was shown to stay below: two significant digits, rounded up.

        Examples
        --------
        >>> Measure.percent().below(3.541), Measure.percent().below(0.98)
        ('3.6 %', '0.98 %')
        """
        number = value / self.factor
        decimals = places(number)
        up = math.ceil(round(number * 10.0**decimals, 6)) / 10.0**decimals
        return f"{separated(digits(up, decimals))} {self.symbol}"

    def range(self, low: float, high: float, doubt: float, *, signed: bool = False) -> str:
        """Two ends in the shown unit, with the digits that the doubt allows.

        Parameters
        ----------
        low, high, doubt : float
            Ends and half-width. [shown unit]
        signed : bool
            Write the plus.

        Returns
        -------
        str
            As in "-0.7 to 1.9".
        """
        return " to ".join(separated(rounded(end, doubt, signed=signed)) for end in (low, high))

    def ends(self, interval: Interval) -> str:
        """Ends of an interval with the unit, as in "8.2 to 10.0 kW"."""
        low, high = interval.low / self.factor, interval.high / self.factor
        return f"{self.range(low, high, (high - low) / 2.0)} {self.symbol}"


def separated(number: str) -> str:
    """Digits with a comma between the thousands of the whole part.

    Examples
    --------
    >>> separated("-12345.6"), separated("0.12345"), separated("430")
    ('-12,345.6', '0.12345', '430')
    """
    whole, point, rest = number.partition(".")
    return _LONG.sub(lambda found: f"{int(found.group()):,}", whole) + point + rest
