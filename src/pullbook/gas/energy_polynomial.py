"""Internal energy of a mixture as a polynomial: the inner parts of the kernels of the mixture.

All are in x = T / 1000 K, and short enough to be taken up by their callers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import kernel

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "HIGHEST",
    "LOWEST",
    "SCALE",
    "Row",
    "Side",
    "curvature_at",
    "energy_at",
    "inside",
    "loaded",
    "mixed",
    "side_of",
    "slope_at",
    "two_steps",
]

LOWEST: Final = 200.0  # K
HIGHEST: Final = 5000.0  # K; above, and below LOWEST, the heat capacity is held
SCALE: Final = 1e-3  # 1/K

_X_LOWEST: Final = LOWEST * SCALE
_X_HIGHEST: Final = HIGHEST * SCALE

# The columns of the table.
Row = tuple[float, float, float, float, float, float, float, float, float, float, float, float, float, float]
Side = tuple[float, float, float, float, float, float]  # coefficients on one side of 1000 K


@kernel
def _row(table: FloatArray, row: int) -> Row:
    """One row of the table as numbers of their own: a loop that reads no array but its cells becomes vector code."""
    return (
        table[row, 0],
        table[row, 1],
        table[row, 2],
        table[row, 3],
        table[row, 4],
        table[row, 5],
        table[row, 6],
        table[row, 7],
        table[row, 8],
        table[row, 9],
        table[row, 10],
        table[row, 11],
        table[row, 12],
        table[row, 13],
    )


@kernel
def loaded(table: FloatArray) -> tuple[Row, Row, Row]:
    """The whole table as numbers of their own."""
    return _row(table, 0), _row(table, 1), _row(table, 2)


@kernel
def mixed(rows: tuple[Row, Row, Row], yb: float, yf: float) -> Row:
    """The row of a mixture."""
    air, burned, fuel = rows
    return (
        air[0] + yb * burned[0] + yf * fuel[0],
        air[1] + yb * burned[1] + yf * fuel[1],
        air[2] + yb * burned[2] + yf * fuel[2],
        air[3] + yb * burned[3] + yf * fuel[3],
        air[4] + yb * burned[4] + yf * fuel[4],
        air[5] + yb * burned[5] + yf * fuel[5],
        air[6] + yb * burned[6] + yf * fuel[6],
        air[7] + yb * burned[7] + yf * fuel[7],
        air[8] + yb * burned[8] + yf * fuel[8],
        air[9] + yb * burned[9] + yf * fuel[9],
        air[10] + yb * burned[10] + yf * fuel[10],
        air[11] + yb * burned[11] + yf * fuel[11],
        air[12] + yb * burned[12] + yf * fuel[12],
        air[13] + yb * burned[13] + yf * fuel[13],
    )


@kernel
def side_of(row: Row, is_low: bool) -> Side:  # noqa: FBT001 - kernels are called by position
    """Coefficients of the energy below or above 1000 K: selected one by one, since a branch would cost more."""
    return (
        row[2] if is_low else row[8],
        row[3] if is_low else row[9],
        row[4] if is_low else row[10],
        row[5] if is_low else row[11],
        row[6] if is_low else row[12],
        row[7] if is_low else row[13],
    )


@kernel
def energy_at(a: Side, x: float) -> float:
    """Energy at x = T / 1000 K."""
    return a[0] + x * (a[1] + x * (a[2] + x * (a[3] + x * (a[4] + x * a[5]))))


@kernel
def slope_at(a: Side, x: float) -> float:
    """Derivative of the energy by x = T / 1000 K."""
    return a[1] + x * (2.0 * a[2] + x * (3.0 * a[3] + x * (4.0 * a[4] + x * (5.0 * a[5]))))


@kernel
def curvature_at(a: Side, x: float) -> float:
    """Second derivative of the energy by x = T / 1000 K."""
    return 2.0 * a[2] + x * (6.0 * a[3] + x * (12.0 * a[4] + x * (20.0 * a[5])))


@kernel
def inside(x: float, is_low: bool) -> float:  # noqa: FBT001 - kernels are called by position
    """Nearest x = T / 1000 K where the polynomials of one side hold."""
    least = _X_LOWEST if is_low else 1.0
    most = 1.0 if is_low else _X_HIGHEST
    above = max(least, x)
    return min(most, above)


@kernel
def two_steps(row: Row, energy: float, guess: float) -> tuple[float, float]:
    """Temperature after two Newton steps, and heat capacity at constant volume there (by its slope)."""
    is_low = energy < row[1]
    a = side_of(row, is_low)
    first = inside(guess * SCALE, is_low)
    second = inside(first + (energy - energy_at(a, first)) / slope_at(a, first), is_low)
    slope = slope_at(a, second)
    step = (energy - energy_at(a, second)) / slope
    end = inside(second + step, is_low)
    return (second + step) / SCALE, SCALE * (slope + (end - second) * curvature_at(a, second))
