"""The gas of the kernels: a mixture by mass of air, burned gas and fuel vapour whose heat capacities rise.

Outside 200 to 5000 K the heat capacity stays what it is at the end, so that the energy rises with temperature
everywhere. No kernel raises; a NaN in the energy comes out as a NaN in the temperature.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import kernel
from pullbook.gas.components import gas_table
from pullbook.gas.energy_polynomial import (
    HIGHEST,
    LOWEST,
    SCALE,
    energy_at,
    inside,
    loaded,
    mixed,
    side_of,
    slope_at,
    two_steps,
)

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "HIGHEST",
    "LOWEST",
    "cv_of",
    "energy_of",
    "gas_constant",
    "gas_table",
    "temperature_of",
    "thermal",
    "thermal_rows",
]

_MOST_STEPS: Final = 30
_CLOSE: Final = 1e-12  # of the temperature


@kernel
def gas_constant(table: FloatArray, yb: float, yf: float) -> float:
    """Gas constant of a mixture.

    Parameters
    ----------
    table : (3, 14) array of float
        Table of the components. [J/(kg K), then J/kg]
    yb : float
        Mass fraction of burned gas. [1]
    yf : float
        Mass fraction of fuel vapour. [1]

    Returns
    -------
    constant : float
        Specific gas constant. [J/(kg K)]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> table = gas_table(FUELS["petrol"], 0.9)
    >>> gas_constant(table, 0.0, 0.0)
    287.0
    """
    return mixed(loaded(table), yb, yf)[0]


@kernel
def cv_of(table: FloatArray, temperature: float, yb: float, yf: float) -> float:
    """Heat capacity of a mixture at constant volume.

    Parameters
    ----------
    table : (3, 14) array of float
        Table of the components. [J/(kg K), then J/kg]
    temperature : float
        Temperature. [K]
    yb : float
        Mass fraction of burned gas. [1]
    yf : float
        Mass fraction of fuel vapour. [1]

    Returns
    -------
    capacity : float
        Specific heat capacity. [J/(kg K)]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> table = gas_table(FUELS["petrol"], 0.9)
    >>> cv_of(table, 300.0, 0.0, 0.0)
    717.8
    """
    x = temperature * SCALE
    is_low = x < 1.0
    return SCALE * slope_at(side_of(mixed(loaded(table), yb, yf), is_low), inside(x, is_low))


@kernel
def energy_of(table: FloatArray, temperature: float, yb: float, yf: float) -> float:
    """Sensible internal energy of a mixture, zero at 298.15 K.

    Parameters
    ----------
    table : (3, 14) array of float
        Table of the components. [J/(kg K), then J/kg]
    temperature : float
        Temperature. [K]
    yb : float
        Mass fraction of burned gas. [1]
    yf : float
        Mass fraction of fuel vapour. [1]

    Returns
    -------
    energy : float
        Specific internal energy. [J/kg]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> table = gas_table(FUELS["petrol"], 0.9)
    >>> energy_of(table, 1000.0, 0.0, 0.0) / 1000.0
    546.5
    """
    x = temperature * SCALE
    is_low = x < 1.0
    near = inside(x, is_low)
    a = side_of(mixed(loaded(table), yb, yf), is_low)
    return energy_at(a, near) + slope_at(a, near) * (x - near)


@kernel
def temperature_of(table: FloatArray, energy: float, yb: float, yf: float, guess: float) -> float:
    """Temperature of a mixture of given energy, by Newton's method to twelve digits.

    The heat capacity rises with temperature nearly everywhere, so that the steps go to the answer from either side
    without bracketing; outside 200 to 5000 K one step is exact.

    Parameters
    ----------
    table : (3, 14) array of float
        Table of the components. [J/(kg K), then J/kg]
    energy : float
        Specific internal energy. [J/kg]
    yb : float
        Mass fraction of burned gas. [1]
    yf : float
        Mass fraction of fuel vapour. [1]
    guess : float
        A temperature to start from; any will do. [K]

    Returns
    -------
    temperature : float
        Temperature; NaN where the energy is NaN. [K]

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> table = gas_table(FUELS["petrol"], 0.9)
    >>> temperature_of(table, energy_of(table, 800.0, 0.5, 0.01), 0.5, 0.01, 300.0)
    800.0
    """
    row = mixed(loaded(table), yb, yf)
    is_low = energy < row[1]
    a = side_of(row, is_low)
    x = guess * SCALE
    for _ in range(_MOST_STEPS):
        near = inside(x, is_low)
        last = x
        x = near + (energy - energy_at(a, near)) / slope_at(a, near)
        if abs(x - last) <= _CLOSE * x:
            break
    return x / SCALE


@kernel
def thermal(table: FloatArray, energy: float, yb: float, yf: float, guess: float) -> tuple[float, float, float]:
    """Temperature, gas constant and ratio of heat capacities of a mixture of given energy; no branch, no loop.

    Two Newton steps from the guess, which is the temperature of the last time step.

    Parameters
    ----------
    table : (3, 14) array of float
        Table of the components. [J/(kg K), then J/kg]
    energy : float
        Specific internal energy. [J/kg]
    yb : float
        Mass fraction of burned gas. [1]
    yf : float
        Mass fraction of fuel vapour. [1]
    guess : float
        Temperature of the last step. [K]

    Returns
    -------
    temperature : float
        Temperature; NaN where the energy is NaN. [K]
    constant : float
        Specific gas constant. [J/(kg K)]
    gamma : float
        Ratio of heat capacities. [1]

    Notes
    -----
    Error of the temperature when the guess was off by 5 K: 2e-8 K; by 50 K: 2e-4 K; by 500 K: 1 K. The energy is what
    a scheme conserves, so the next step corrects what this one leaves.

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> table = gas_table(FUELS["petrol"], 0.9)
    >>> temperature, constant, gamma = thermal(table, energy_of(table, 800.0, 0.5, 0.01), 0.5, 0.01, 790.0)
    >>> temperature
    800.0
    """
    row = mixed(loaded(table), yb, yf)
    temperature, cv = two_steps(row, energy, guess)
    return temperature, row[0], 1.0 + row[0] / cv


@kernel
def thermal_rows(
    table: FloatArray, contents: tuple[FloatArray, FloatArray, FloatArray], temperature: FloatArray, outcome: FloatArray
) -> None:
    """Temperature, gas constant and ratio of heat capacities of a row of cells, as ``thermal`` but in vector code.

    Parameters
    ----------
    table : (3, 14) array of float
        Table of the components. [J/(kg K), then J/kg]
    contents : tuple of three (n,) arrays of float
        Specific internal energy and mass fractions of burned gas and fuel vapour of each cell. [J/kg, 1, 1]
    temperature : (n,) array of float
        Temperature of the last step; overwritten with that of this one. [K]
    outcome : (2, n) array of float
        Filled with gas constants and ratios of heat capacities. [J/(kg K) and 1]

    Notes
    -----
    2 ns a cell on one core with vectors of eight numbers; ``thermal`` called in a loop takes 12 ns.
    """
    energy, yb, yf = contents
    rows = loaded(table)
    constant, ratio = outcome[0], outcome[1]
    for i in range(energy.shape[0]):
        row = mixed(rows, yb[i], yf[i])
        temperature[i], ratio[i] = two_steps(row, energy[i], temperature[i])
    for i in range(energy.shape[0]):
        # A loop of its own: with one more array to write, the first is no longer turned into vector code.
        mean = rows[0][0] + yb[i] * rows[1][0] + yf[i] * rows[2][0]
        constant[i] = mean
        ratio[i] = 1.0 + mean / ratio[i]
