"""Knock estimate: whether the end gas would have ignited by itself, and what that means for a predicted torque."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.end_gas import end_gas_temperature, ignition_delay
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["KnockEstimate", "estimate_knock"]

_LAST_BURNED: Final = 0.85  # end gas ignited later is too little to be heard
_DOUBTFUL: Final = 0.7  # of the integral: 20 K of the end gas, 3 octane numbers and 5 per cent of pressure make it 1
_GAMMA: Final = 1.308  # of charge of petrol with 5 per cent of residual gas, mean from 345 K to 900 K


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KnockEstimate:
    """Self-ignition integral of the end gas.

    Attributes
    ----------
    integral : (n,) array of float
        Over the crank angle, as far as there is end gas. [1]
    end_gas : (n,) array of float
        Temperature of the end gas. [K]
    onset_deg : float or None
        Where the integral reaches 1 before 85 per cent are burned. [deg]
    margin : float
        1 less the integral at 85 per cent burned; negative where knock is expected. [1]
    """

    integral: FloatArray
    end_gas: FloatArray
    onset_deg: float | None
    margin: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "integral", frozen_floats(self.integral))
        object.__setattr__(self, "end_gas", frozen_floats(self.end_gas))

    @property
    def trusted(self) -> bool:
        """Whether the spark that was assumed could have been run."""
        return self.onset_deg is None

    @property
    def says(self) -> str:
        """One sentence for the record of a run."""
        if self.onset_deg is not None:
            return (
                f"the end gas is expected to knock at {self.onset_deg:.0f} deg after top dead centre: with this fuel "
                "the spark would have to be later, and the predicted torque is not to be trusted"
            )
        if 1.0 - self.margin > _DOUBTFUL:
            return "the end gas is near knock, and the estimate cannot tell: take the predicted torque with care"
        return "no knock is expected"


def estimate_knock(
    angle_deg: FloatArray,
    pressure: FloatArray,
    burned: FloatArray,
    start: tuple[float, float],
    fuel_rpm: tuple[float, float],
    mixture: tuple[FloatArray, float, float] | None = None,
) -> KnockEstimate:
    """Knock estimate from a pressure trace, after Douaud and Eyzat.

    The end gas is compressed without heat from the state at the first angle: with the heat capacities of its mixture
    where that is given, with a mean ratio of 1.308 where it is not.

    Parameters
    ----------
    angle_deg : (n,) array of float
        Crank angle from the closing of the inlet valve on, rising. [deg]
    pressure : (n,) array of float
        Cylinder pressure. [Pa]
    burned : (n,) array of float
        Burned share of the fuel. [1]
    start : tuple of float
        Pressure and temperature of the charge at the first angle. [Pa, K]
    fuel_rpm : tuple of float
        Octane number of the reference fuel that knocks like the fuel, and engine speed. [1, rpm]
    mixture : tuple of array, float, float or None
        Table of the gas, mass fractions of burned gas and fuel vapour before burning. [J/(kg K) and J/kg, 1, 1]

    Returns
    -------
    KnockEstimate
        Integral, onset, and what to say.

    Notes
    -----
    The margin is an order, no measurement: 20 K of the end gas or 3 octane numbers move the integral by a tenth. The
    correlation was made with reference fuels, whose research and motor octane numbers are the same; which number stands
    for another fuel is told at `pullbook.engine.parts_running.FuelSupply`. No heat leaves the end gas here, which makes
    it some 10 to 30 K too hot: both choices call knock rather too early than too late.
    Knock itself, its strength and the damage it does are not modelled.

    References
    ----------
    .. [1] A. M. Douaud, P. Eyzat, SAE paper 780080, 1978 (from memory), see `pullbook.gas.end_gas.ignition_delay`.
    """
    octane, speed_rpm = fuel_rpm
    if mixture is None:
        hot = start[1] * (pressure / start[0]) ** ((_GAMMA - 1.0) / _GAMMA)
    else:
        hot = end_gas_temperature(pressure, start[1], *mixture)
    rate = np.array([1.0 / ignition_delay(p, t, octane) for p, t in zip(pressure.tolist(), hot.tolist(), strict=True)])
    time = (angle_deg - angle_deg[0]) / (6.0 * speed_rpm)
    steps = 0.5 * (rate[1:] + rate[:-1]) * np.diff(time) * (burned[:-1] < _LAST_BURNED)
    integral = np.concatenate([[0.0], np.cumsum(steps)])
    onset = None
    if integral[-1] >= 1.0:
        onset = float(np.interp(1.0, integral, angle_deg))
    return KnockEstimate(integral=integral, end_gas=hot, onset_deg=onset, margin=1.0 - float(integral[-1]))
