"""The gas of the kernels: a mixture by mass of air, burned gas and fuel vapour whose heat capacities rise.

Outside 200 to 5000 K the heat capacity stays what it is at the end, so that the energy rises with temperature
everywhere. No kernel raises; a NaN in the energy comes out as a NaN in the temperature.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import kernel
from pullbook.gas.components import gas_table

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["HIGHEST", "LOWEST", "cv_of", "energy_of", "gas_constant", "gas_table", "temperature_of", "thermal"]

LOWEST: Final = 200.0  # K
HIGHEST: Final = 5000.0  # K; above, and below LOWEST, the heat capacity is held

_SCALE: Final = 1e-3  # 1/K
_X_LOWEST: Final = LOWEST * _SCALE
_X_HIGHEST: Final = HIGHEST * _SCALE
_MOST_STEPS: Final = 30
_CLOSE: Final = 1e-12  # of the temperature


@kernel
def _mixed(table: FloatArray, column: int, yb: float, yf: float) -> float:
    """One column of the table, mixed by mass."""
    return table[0, column] + yb * table[1, column] + yf * table[2, column]


@kernel
def _coefficients(
    table: FloatArray,
    is_low: bool,  # noqa: FBT001 - kernels are called by position
    yb: float,
    yf: float,
) -> tuple[float, float, float, float, float, float]:
    """Coefficients of the energy on one side of 1000 K; both sides are mixed, since a branch costs more."""
    return (
        _mixed(table, 2, yb, yf) if is_low else _mixed(table, 8, yb, yf),
        _mixed(table, 3, yb, yf) if is_low else _mixed(table, 9, yb, yf),
        _mixed(table, 4, yb, yf) if is_low else _mixed(table, 10, yb, yf),
        _mixed(table, 5, yb, yf) if is_low else _mixed(table, 11, yb, yf),
        _mixed(table, 6, yb, yf) if is_low else _mixed(table, 12, yb, yf),
        _mixed(table, 7, yb, yf) if is_low else _mixed(table, 13, yb, yf),
    )


@kernel
def _energy(a: tuple[float, float, float, float, float, float], x: float) -> float:
    """Energy at x = T / 1000 K."""
    return a[0] + x * (a[1] + x * (a[2] + x * (a[3] + x * (a[4] + x * a[5]))))


@kernel
def _slope(a: tuple[float, float, float, float, float, float], x: float) -> float:
    """Derivative of the energy by x = T / 1000 K."""
    return a[1] + x * (2.0 * a[2] + x * (3.0 * a[3] + x * (4.0 * a[4] + x * (5.0 * a[5]))))


@kernel
def _inside(x: float) -> float:
    """The nearest x = T / 1000 K where the polynomials hold."""
    above = max(_X_LOWEST, x)
    return min(_X_HIGHEST, above)


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
    return _mixed(table, 0, yb, yf)


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
    x = _inside(temperature * _SCALE)
    return _SCALE * _slope(_coefficients(table, x < 1.0, yb, yf), x)


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
    x = temperature * _SCALE
    near = _inside(x)
    a = _coefficients(table, near < 1.0, yb, yf)
    return _energy(a, near) + _slope(a, near) * (x - near)


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
    a = _coefficients(table, energy < _mixed(table, 1, yb, yf), yb, yf)
    x = guess * _SCALE
    for _ in range(_MOST_STEPS):
        near = _inside(x)
        last = x
        x = near + (energy - _energy(a, near)) / _slope(a, near)
        if abs(x - last) <= _CLOSE * x:
            break
    return x / _SCALE


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
    a = _coefficients(table, energy < _mixed(table, 1, yb, yf), yb, yf)
    constant = _mixed(table, 0, yb, yf)
    first = _inside(guess * _SCALE)
    second = _inside(first + (energy - _energy(a, first)) / _slope(a, first))
    x = second + (energy - _energy(a, second)) / _slope(a, second)
    return x / _SCALE, constant, 1.0 + constant / (_SCALE * _slope(a, _inside(x)))
