"""Numbers as findings.json and curves.csv write them: ten significant digits, null where there is none."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import CurveBand, Interval, Peak

    Json: TypeAlias = bool | int | float | str | Sequence["Json"] | Mapping[str, "Json"] | None
    JsonObject: TypeAlias = dict[str, Json]

__all__ = ["WRITTEN_UNITS", "band", "interval", "number", "numbers", "peak"]

_DIGITS = 10
WRITTEN_UNITS: Final = {"W": ("kW", 1e-3), "N m": ("N m", 1.0), "%": ("%", 1.0)}
"""Unit that a size is written in, and the factor to it."""


def number(value: float | None, scale: float = 1.0) -> float | None:
    """Ten significant digits of a number, None for NaN, infinity and None.

    Ten digits are far more than any band is worth, and few enough that two machines write the same.

    Parameters
    ----------
    value : float or None
        Number. [any unit]
    scale : float
        Divides it. [unit of `value` per unit written]

    Returns
    -------
    float or None
        Rounded number. [unit written]

    Examples
    --------
    >>> number(2.0 / 3.0), number(float("nan")), number(9100.0, 1000.0)
    (0.6666666667, None, 9.1)
    """
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value / scale:.{_DIGITS}g}") + 0.0  # never "-0.0"


def numbers(values: FloatArray, scale: float = 1.0) -> list[Json]:
    """Rounded numbers of an array.

    Parameters
    ----------
    values : (n,) array of float
        Numbers. [any unit]
    scale : float
        Divides them. [unit of `values` per unit written]

    Returns
    -------
    list of float or None
        Rounded numbers, None for NaN. [unit written]

    Examples
    --------
    >>> numbers(np.array([1.0, np.nan]))
    [1.0, None]
    """
    return [number(value, scale) for value in np.asarray(values, dtype=np.float64).tolist()]


def band(curve: CurveBand | None, unit: str, scale: float = 1.0) -> JsonObject | None:
    """Curve with its band.

    Parameters
    ----------
    curve : CurveBand or None
        Curve. [as stored]
    unit : str
        Unit written.
    scale : float
        Divides it. [stored unit per unit written]
    """
    if curve is None:
        return None
    parts = {"mean": curve.mean, "low": curve.low, "high": curve.high}
    return {"unit": unit, **{name: numbers(values, scale) for name, values in parts.items()}}


def interval(value: Interval | None, scale: float = 1.0) -> JsonObject | None:
    """Value with the ends of its interval.

    Parameters
    ----------
    value : Interval or None
        Interval. [as stored]
    scale : float
        Divides it. [stored unit per unit written]
    """
    if value is None:
        return None
    return {name: number(getattr(value, name), scale) for name in ("value", "low", "high")}


def peak(value: Peak | None, unit: str, scale: float = 1.0) -> JsonObject | None:
    """Peak with its place.

    Parameters
    ----------
    value : Peak or None
        Peak. [as stored]
    unit : str
        Unit written.
    scale : float
        Divides the height. [stored unit per unit written]
    """
    if value is None:
        return None
    height = {name: number(getattr(value, name), scale) for name in ("value", "low", "high")}
    place = {name: number(getattr(value, name)) for name in ("rpm", "rpm_low", "rpm_high")}
    return {"unit": unit, **height, **place}
