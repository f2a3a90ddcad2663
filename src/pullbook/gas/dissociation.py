"""What dissociation takes up in the cylinder: equilibrium above 1500 K as an addition to the frozen burned gas.

The table is made in `pullbook.gas.dissociation_table`; here are the kernels that read it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import kernel
from pullbook.gas.dissociation_table import COLDEST, PER_OCTAVE, STEP, THINNEST, dissociation_table
from pullbook.gas.energy_polynomial import SCALE, energy_at, inside, loaded, mixed, side_of, slope_at
from pullbook.gas.mixture import cv_of, energy_of, temperature_of

if TYPE_CHECKING:
    from pullbook.gas.energy_polynomial import Side
    from pullbook.quantities.arrays import FloatArray

__all__ = ["burning_energy", "burning_thermal", "dissociation_at", "dissociation_table"]

_MOST_STEPS: Final = 40
_CLOSE: Final = 1e-10  # of the temperature


@kernel
def _along(table: FloatArray, row: int, column: int, place: float) -> tuple[float, float]:
    """Value and slope by temperature on one line of equal density, by cubics that keep values and slopes."""
    last = table.shape[1] - 2
    k = min(int(place), last)
    s = place - k
    left, right = table[row, k, column], table[row, k + 1, column]
    rise_left, rise_right = STEP * table[row, k, column + 1], STEP * table[row, k + 1, column + 1]
    if s > 1.0:  # hotter than the table: straight on
        return right + (s - 1.0) * rise_right, rise_right / STEP
    cubic = 2.0 * (left - right) + rise_left + rise_right
    square = 3.0 * (right - left) - 2.0 * rise_left - rise_right
    value = left + s * (rise_left + s * (square + s * cubic))
    return value, (rise_left + s * (2.0 * square + 3.0 * s * cubic)) / STEP


@kernel
def _line(table: FloatArray, density: float) -> tuple[int, float]:
    """Line of the table below a density, and how far the density is towards the next one."""
    height = PER_OCTAVE * math.log2(max(density, THINNEST) / THINNEST)
    row = min(int(height), table.shape[0] - 2)
    return row, min(height - row, 1.0)


@kernel
def _between(table: FloatArray, line: tuple[int, float], column: int, temperature: float) -> tuple[float, float, float]:
    """Value, slope by temperature, and rise to the next line."""
    row, s = line
    place = (temperature - COLDEST) / STEP
    thin, thin_slope = _along(table, row, column, place)
    dense, dense_slope = _along(table, row + 1, column, place)
    return thin + s * (dense - thin), thin_slope + s * (dense_slope - thin_slope), dense - thin


@kernel
def dissociation_at(
    dissociation: FloatArray, temperature: float, density: float
) -> tuple[float, float, float, float, float]:
    """Energy and gas constant that equilibrium adds to frozen burned gas, from the table.

    Parameters
    ----------
    dissociation : (21, 51, 4) array of float
        From `dissociation_table`. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]
    temperature : float
        Temperature; below 1500 K nothing is added. [K]
    density : float
        Mass of burned gas in the volume; outside 1/16 to 64 kg/m3 the nearer end is taken. [kg/m3]

    Returns
    -------
    energy : float
        Added internal energy. [J/kg]
    capacity : float
        Its slope by temperature. [J/(kg K)]
    constant : float
        Added gas constant. [J/(kg K)]
    by_temperature : float
        Its slope by temperature. [J/(kg K2)]
    by_density : float
        Its slope by the natural logarithm of density. [J/(kg K)]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> dissociation_at(dissociation_table(FUELS["petrol"], 1.0), 1400.0, 1.0)
    (0.0, 0.0, 0.0, 0.0, 0.0)
    """
    if not temperature > COLDEST:
        return 0.0, 0.0, 0.0, 0.0, 0.0
    line = _line(dissociation, density)
    energy, capacity, _ = _between(dissociation, line, 0, temperature)
    constant, by_temperature, step = _between(dissociation, line, 2, temperature)
    return energy, capacity, constant, by_temperature, step * PER_OCTAVE / math.log(2.0)


@kernel
def burning_energy(
    table: FloatArray, dissociation: FloatArray, temperature: float, contents: tuple[float, float, float]
) -> float:
    """Internal energy of a cylinder's gas with dissociation, zero at 298.15 K.

    Parameters
    ----------
    table : (3, 14) array of float
        From `gas_table`. [J/(kg K), then J/kg]
    dissociation : (21, 51, 4) array of float
        From `dissociation_table` of the same fuel and lambda. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]
    temperature : float
        Temperature. [K]
    contents : tuple of three floats
        Mass fractions of burned gas and fuel vapour, density of the whole. [1, 1, kg/m3]

    Returns
    -------
    energy : float
        Specific internal energy. [J/kg]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> from pullbook.gas.mixture import gas_table
    >>> table, added = gas_table(FUELS["petrol"], 0.9), dissociation_table(FUELS["petrol"], 0.9)
    >>> burning_energy(table, added, 2600.0, (1.0, 0.0, 10.0)) / energy_of(table, 2600.0, 1.0, 0.0)
    1.0
    """
    yb, yf, density = contents
    added = dissociation_at(dissociation, temperature, yb * density)
    return energy_of(table, temperature, yb, yf) + yb * added[0]


@kernel
def burning_thermal(
    table: FloatArray, dissociation: FloatArray, energy: float, contents: tuple[float, float, float], guess: float
) -> tuple[float, float, float]:
    """Temperature, gas constant and isentropic exponent of a cylinder's gas with dissociation.

    Newton's method between bounds that close in; without burned gas or below 1500 K as `temperature_of`.

    Parameters
    ----------
    table : (3, 14) array of float
        From `gas_table`. [J/(kg K), then J/kg]
    dissociation : (21, 51, 4) array of float
        From `dissociation_table` of the same fuel and lambda. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]
    energy : float
        Specific internal energy. [J/kg]
    contents : tuple of three floats
        Mass fractions of burned gas and fuel vapour, density of the whole. [1, 1, kg/m3]
    guess : float
        Temperature of the last step. [K]

    Returns
    -------
    temperature : float
        Temperature; NaN where the energy is NaN. [K]
    constant : float
        Specific gas constant, that of the dissociated gas. [J/(kg K)]
    exponent : float
        Isentropic exponent: square of the speed of sound over (constant times temperature). [1]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> from pullbook.gas.mixture import gas_table
    >>> table, added = gas_table(FUELS["petrol"], 0.9), dissociation_table(FUELS["petrol"], 0.9)
    >>> energy = burning_energy(table, added, 2600.0, (0.95, 0.0, 10.0))
    >>> temperature, constant, exponent = burning_thermal(table, added, energy, (0.95, 0.0, 10.0), 2000.0)
    >>> temperature
    2600.0
    """
    yb, yf, density = contents
    row = mixed(loaded(table), yb, yf)
    hot = side_of(row, False)  # noqa: FBT003 - kernels are called by position
    constant = row[0]
    surplus = energy - energy_at(hot, COLDEST * SCALE)
    if not (surplus > 0.0 and yb > 0.0):
        temperature = temperature_of(table, energy, yb, yf, guess)
        return temperature, constant, 1.0 + constant / cv_of(table, temperature, yb, yf)
    line = _line(dissociation, yb * density)
    # The heat capacity rises: what it is at 1500 K gives more than the temperature without dissociation.
    highest = COLDEST + surplus / (SCALE * slope_at(hot, COLDEST * SCALE))
    temperature, capacity = _dissociated(dissociation, (hot, line, yb), energy, (guess, highest))
    added, rise, step = _between(dissociation, line, 2, temperature)
    constant += yb * added
    by_temperature = 1.0 + temperature * yb * rise / constant
    by_density = 1.0 + yb * step * PER_OCTAVE / math.log(2.0) / constant
    return temperature, constant, by_density + constant * by_temperature * by_temperature / capacity


@kernel
def _dissociated(
    dissociation: FloatArray,
    gas: tuple[Side, tuple[int, float], float],
    energy: float,
    bounds: tuple[float, float],
) -> tuple[float, float]:
    """Temperature above 1500 K, by Newton's method between bounds that close in, and the heat capacity there."""
    hot, line, yb = gas
    guess, high = bounds
    low = COLDEST
    temperature = min(max(guess, low), high)
    capacity = 0.0
    for _ in range(_MOST_STEPS):
        x = temperature * SCALE
        near = inside(x, False)  # noqa: FBT003 - kernels are called by position
        added, rise, _ = _between(dissociation, line, 0, temperature)
        slope = slope_at(hot, near)
        surplus = energy_at(hot, near) + slope * (x - near) + yb * added - energy
        capacity = SCALE * slope + yb * rise
        if surplus > 0.0:
            high = temperature
        else:
            low = temperature
        last = temperature
        temperature = last - surplus / capacity
        if not low <= temperature <= high:
            temperature = 0.5 * (low + high)
        if abs(temperature - last) <= _CLOSE * last:
            break
    return temperature, capacity
