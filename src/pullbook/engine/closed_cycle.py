"""One cylinder with its valves shut, from bottom to bottom dead centre: the engine without its pipes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.burn import burn_share
from pullbook.gas.crank import cylinder_volume
from pullbook.gas.cylinder import EXPANSION, SEALED, advance_cylinder, cylinder_gas, fill_cylinder, note_closing
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["ClosedBurn", "ClosedCycle", "run_closed_cycle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedBurn:
    """Burning of a closed cycle.

    Attributes
    ----------
    start_deg : float
        After top dead centre. [deg]
    duration_deg : float
        Duration; so short that it lies within a step burns at once. [deg]
    efficiency, form : float
        a and m of the Wiebe function. [1]
    """

    start_deg: float
    duration_deg: float
    efficiency: float = 5.0
    form: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClosedCycle:
    """What happened.

    Attributes
    ----------
    angle_deg : (n,) array of float
        Crank angle after top dead centre, -180 to 180. [deg]
    pressure : (n,) array of float
        Cylinder pressure. [Pa]
    temperature : (n,) array of float
        Mean temperature. [K]
    volume : (n,) array of float
        Volume. [m3]
    work : float
        On the piston. [J]
    wall_heat : float
        To the walls. [J]
    released : float
        By the fuel. [J]
    energy_error : float
        Change of internal energy that work, heat and release do not explain. [J]
    """

    angle_deg: FloatArray
    pressure: FloatArray
    temperature: FloatArray
    volume: FloatArray
    work: float
    wall_heat: float
    released: float
    energy_error: float

    def __post_init__(self) -> None:
        for name in ("angle_deg", "pressure", "temperature", "volume"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))

    @property
    def efficiency(self) -> float:
        """Work over energy released. [1]."""
        return self.work / self.released


def run_closed_cycle(  # noqa: PLR0913 - crank, walls, gas, its two tables, burning
    arrangement: FloatArray,
    settings: FloatArray,
    charge: tuple[float, float, float, float],
    burn: ClosedBurn,
    tables: tuple[FloatArray, FloatArray | None],
    *,
    speed_rpm: float = 3000.0,
    step_deg: float = 0.5,
) -> ClosedCycle:
    """Compress, burn and expand one charge.

    Parameters
    ----------
    arrangement : (8,) array of float
        From `pullbook.gas.crank.crank_arrangement`. [m3, m2, m, m, m, rad, m, m3]
    settings : (18, 1) array of float
        From `pullbook.gas.cylinder_settings.cylinder_settings`; changed. [rows]
    charge : tuple of float
        Pressure, temperature, burned and fuel mass fraction at bottom dead centre. [Pa, K, 1, 1]
    burn : ClosedBurn
        Burning.
    tables : tuple of arrays of float
        Of the gas, and of its dissociation or None. [J/(kg K), J/kg]
    speed_rpm : float
        Engine speed. [rpm]
    step_deg : float
        Step; a whole number of them makes up 180 degrees. [deg]

    Returns
    -------
    ClosedCycle
        Traces and balances.
    """
    count = 2 * round(180.0 / step_deg)
    angle = np.linspace(-180.0, 180.0, count + 1)
    volume = np.array([cylinder_volume(math.radians(one), arrangement) for one in angle])
    state = np.zeros((4, 1))
    table, dissociation = tables
    more = () if dissociation is None else (dissociation,)
    fill_cylinder(state, 0, charge, float(volume[0]), table)
    note_closing(state, 0, float(volume[0]), settings, table, *more)
    duration = 360.0 / count / (6.0 * speed_rpm)
    progress = (angle - burn.start_deg) / max(burn.duration_deg, 1e-9)
    energy = state[1, 0]
    sums = np.zeros(3)
    seen = [cylinder_gas(state, 0, float(volume[0]), settings, table, *more)[:2]]
    for i in range(count):
        share = burn_share(float(progress[i]), float(progress[i + 1]), burn.efficiency, burn.form)
        phase = EXPANSION if progress[i + 1] > 0.0 else SEALED
        step = float(volume[i]), float(volume[i + 1]), duration, share, phase
        sums += advance_cylinder(state, 0, step, (0.0, 0.0, 0.0, 0.0), settings, table, *more)[:3]
        seen.append(cylinder_gas(state, 0, float(volume[i + 1]), settings, table, *more)[:2])
    pressure, temperature = np.array(seen).T
    work, heat, released = (float(one) for one in sums)
    return ClosedCycle(
        angle_deg=angle, pressure=pressure, temperature=temperature, volume=volume, work=work, wall_heat=heat,
        released=released, energy_error=float(state[1, 0] - energy - released + heat + work),
    )  # fmt: skip
