"""Viscosity and heat conduction of the gas.

Sutherland's formula, with constants fitted by us to the kinetic theory of the species from 250 to 2000 K, and a Prandtl
number, which hardly changes with temperature. Fuel vapour (6 % of the mass at most) counts as air. Heat transfer in
pipes goes as the fourth root of the viscosity at given mass flow, so that its errors weigh little.

References
----------
.. [1] W. Sutherland, The viscosity of gases and molecular force, Philosophical Magazine 36 (1893) 507 (from memory).
"""

from __future__ import annotations

import math
from typing import Final

from pullbook.gas.compiled import kernel

__all__ = ["conductivity", "viscosity"]

# Kinetic theory with the molecular data of GRI-Mech 3.0 (public, University of California), burned gas at lambda 0.9.
_AIR: Final = (1.579e-6, 144.5)  # Pa s/K^0.5, K
_BURNED: Final = (1.581e-6, 196.4)
_PRANDTL_AIR: Final = 0.708
_PRANDTL_BURNED: Final = 0.678


@kernel
def viscosity(temperature: float, yb: float) -> float:
    """Dynamic viscosity of air and burned gas.

    Parameters
    ----------
    temperature : float
        Temperature. [K]
    yb : float
        Mass fraction of burned gas. [1]

    Returns
    -------
    viscosity : float
        Dynamic viscosity. [Pa s]

    Notes
    -----
    From 250 to 2000 K within 2.6 % of kinetic theory for air and for lambda 0.9 to 1.0, within 4 % for 0.8 to 1.2.

    Examples
    --------
    >>> round(viscosity(300.0, 0.0) * 1e6, 1)
    18.5
    """
    root = math.sqrt(temperature)
    air = _AIR[0] / (temperature + _AIR[1])
    burned = _BURNED[0] / (temperature + _BURNED[1])
    return temperature * root * (air + yb * (burned - air))


@kernel
def conductivity(viscosity: float, constant: float, gamma: float, yb: float) -> float:
    """Thermal conductivity that belongs to a viscosity, by the Prandtl number.

    Parameters
    ----------
    viscosity : float
        Dynamic viscosity. [Pa s]
    constant : float
        Specific gas constant. [J/(kg K)]
    gamma : float
        Ratio of heat capacities. [1]
    yb : float
        Mass fraction of burned gas. [1]

    Returns
    -------
    conductivity : float
        Thermal conductivity. [W/(m K)]

    Notes
    -----
    From 250 to 2000 K within 5 % of kinetic theory for lambda 0.8 to 1.2.

    Examples
    --------
    >>> round(conductivity(18.5e-6, 287.0, 1.4, 0.0), 4)
    0.0262
    """
    cp = constant * gamma / (gamma - 1.0)
    return viscosity * cp / (_PRANDTL_AIR + yb * (_PRANDTL_BURNED - _PRANDTL_AIR))
