"""No more digits than the doubt allows."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Final

__all__ = ["decimals_for_doubt", "digits", "round_to_doubt"]

_TWO_DIGITS_UP_TO: Final = 354  # first three digits of the doubt [1]_
_ROOMY: Final = Context(prec=700)  # digits of the widest float, so that rounding never overflows


def decimals_for_doubt(half_width: float) -> int:
    """Decimals that an uncertainty allows.

    Parameters
    ----------
    half_width : float
        Half-width of the interval, in the unit that is shown. [any unit]

    Returns
    -------
    int
        Decimals after the point; negative where even the tens are doubtful. [1]

    Raises
    ------
    ValueError
        If the half-width is not a positive finite number; there is no doubt to round to.

    References
    ----------
    .. [1] Particle Data Group, "Review of Particle Physics", Introduction, section 5.3 "Rounding": the first three
       digits of the uncertainty decide (100 to 354: two digits are kept; 355 to 949: one; 950 to 999: rounded up to
       1000, two are kept). From memory.

    Examples
    --------
    >>> [decimals_for_doubt(doubt) for doubt in (0.827, 0.119, 0.367, 0.96, 23.0, 480.0)]
    [1, 2, 1, 1, 0, -2]
    """
    if not (math.isfinite(half_width) and half_width > 0.0):
        raise ValueError(f"no digits can be chosen by a half-width of {half_width}")
    mantissa, exponent = f"{half_width:.2e}".split("e")
    leading = int(mantissa.replace(".", ""))
    # From 950 on the doubt is written as 1.0 of the next power of ten, which is the same place as one digit of this.
    return (1 if leading <= _TWO_DIGITS_UP_TO else 0) - int(exponent)


def round_to_doubt(value: float, half_width: float, *, signed: bool = False) -> str:
    """Number with the digits that its half-width allows, both in the unit that is shown.

    Halves are rounded away from zero, so that a mirrored comparison shows mirrored digits. Without a usable
    half-width (NaN, infinite, zero) three significant digits are kept.

    Parameters
    ----------
    value, half_width : float
        The number and half the width of its interval. [any unit, the same for both]
    signed : bool
        A gain is written with its plus.

    Returns
    -------
    str
        Digits without unit; "not known" for NaN.

    Examples
    --------
    >>> round_to_doubt(9.1342, 0.912), round_to_doubt(9.1342, 0.23), round_to_doubt(2868.4, 97.0, signed=True)
    ('9.1', '9.13', '+2870')
    """
    if math.isnan(value):
        return "not known"
    if math.isfinite(half_width) and half_width > 0.0:
        return digits(value, decimals_for_doubt(half_width), signed=signed)
    size = math.floor(math.log10(abs(value))) if value and math.isfinite(value) else 0
    return digits(value, 2 - size, signed=signed)


def digits(value: float, decimals: int, *, signed: bool = False) -> str:
    """Decimal digits rounded half away from zero; what is rounded is the shortest decimal of the float.

    Parameters
    ----------
    value : float
        The number, in the unit that is shown. [any unit]
    decimals : int
        Decimals after the point; negative to round to tens, hundreds and so on. [1]
    signed : bool
        Write the plus of a positive number.

    Returns
    -------
    str
        Digits without unit; never "-0"; "not known" for NaN.

    Examples
    --------
    >>> digits(2.675, 2), digits(-0.04, 1), digits(2868.4, -1, signed=True)
    ('2.68', '0.0', '+2870')
    """
    if not math.isfinite(value):
        return "not known" if math.isnan(value) else str(value)
    exact = Decimal(repr(float(value)))
    rounded = exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP, context=_ROOMY)
    sign = "" if rounded.is_zero() else "-" if rounded < 0 else "+" if signed else ""
    return f"{sign}{rounded.copy_abs():f}"
