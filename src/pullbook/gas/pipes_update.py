"""Balance of every cell over one step, and all that follows from it: pressure, velocity, temperature, rates."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.compiled import inner_kernel
from pullbook.gas.energy_polynomial import SCALE, curvature_at, energy_at, inside, loaded, mixed, side_of, slope_at
from pullbook.gas.losses import wall_rates

if TYPE_CHECKING:
    from typing import TypeAlias

    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

    Outcome: TypeAlias = tuple[int, int, np.int64]

__all__ = ["LEAST_DENSITY", "LEAST_TEMPERATURE", "MOST_TEMPERATURE", "advance"]

# The floors, and what no temperature can be.
LEAST_DENSITY: Final = 1e-5  # kg/m3
LEAST_TEMPERATURE: Final = 1.0  # K
MOST_TEMPERATURE: Final = 1e7  # K


@inner_kernel
def advance(  # noqa: PLR0915 - one loop in one piece: with a call inside it is no vector code
    dt: float, table: FloatArray, geometry: Rows, flux: Rows, state: Rows, outcome: Rows
) -> Outcome:
    """New state, then primitive rows with the temperature found in one step from the last one, then rates.

    Rows of ``flux``: five at the cell's left face, five at its right. Rows of ``outcome``: temperature, heat from the
    wall, loss, exchange, lacking, force, then the primitive rows; the first six are read as well.

    Returns how many cells had to be floored, how many are not a number, and the largest rate of a wave as the bits of a
    float: bits of positive floats are in the order of the floats, those of NaN above all.
    """
    volume, inverse_volume, inverse_length, per, roughness, friction, bend, heat, wall_temperature = geometry
    mass, momentum, energy, burned, fuel = state
    temperature, wall_heat, loss, exchange, lacking, force = outcome[:6]
    density, velocity, pressure, gamma, offset, burned_fraction, fuel_fraction = outcome[6:]
    rows = loaded(table)
    floors = 0
    broken = 0
    fastest = np.int64(0)
    for i in range(len(volume)):
        # What flows in, and what the wall does. Heat is of second order in the step, and never more than until the gas
        # is as warm as the wall.
        h = dt * inverse_volume[i]
        x = dt * exchange[i]
        calm = 1.0 + x * (0.5 + x * (1.0 / 6.0))
        slow = 1.0 + dt * loss[i]
        inverse = 1.0 / (calm * slow)
        gain = x * (slow * inverse) * lacking[i]
        new_mass = mass[i] + h * (flux[0][i] - flux[5][i])
        new_momentum = (momentum[i] + h * (flux[1][i] - flux[6][i] + force[i])) * (calm * inverse)
        new_energy = energy[i] + h * (flux[2][i] - flux[7][i]) + gain
        new_burned = burned[i] + h * (flux[3][i] - flux[8][i])
        new_fuel = fuel[i] + h * (flux[4][i] - flux[9][i])
        wall_heat[i] += gain * volume[i]
        # The gas that this is.
        thin = new_mass < LEAST_DENSITY
        rho = LEAST_DENSITY if thin else new_mass
        inverse = 1.0 / rho
        u = new_momentum * inverse
        kinetic = 0.5 * u * u
        e = new_energy * inverse - kinetic
        yb = new_burned * inverse
        yf = new_fuel * inverse
        row = mixed(rows, yb, yf)
        constant = row[0]
        # One step of Chebyshev's method, of third order, from the temperature of the last time step.
        is_low = e < row[1]
        a = side_of(row, is_low)
        x = inside(temperature[i] * SCALE, is_low)
        rise = slope_at(a, x)
        curve = curvature_at(a, x)
        inverse_rise = 1.0 / rise
        step = (e - energy_at(a, x)) * inverse_rise
        step -= 0.5 * step * step * curve * inverse_rise
        found = (x + step) / SCALE
        cv = SCALE * (rise + min(max(curve * step, -0.2 * rise), 0.2 * rise))
        cold = found < LEAST_TEMPERATURE
        t = LEAST_TEMPERATURE if cold else found
        e += cv * (t - found)
        g = 1.0 + constant / cv
        specific = constant * t
        rate = (abs(u) + np.sqrt(g * specific)) * inverse_length[i]
        fastest = max(fastest, np.float64(rate).view(np.int64))
        floors += int(thin | cold)
        broken += int(not t < MOST_TEMPERATURE)
        mass[i] = rho
        momentum[i] = new_momentum
        energy[i] = rho * (e + kinetic) if cold else new_energy
        burned[i] = new_burned
        fuel[i] = new_fuel
        temperature[i] = t
        density[i] = rho
        velocity[i] = u
        pressure[i] = rho * specific
        gamma[i] = g
        offset[i] = e - cv * t
        burned_fraction[i] = yb
        fuel_fraction[i] = yf
        lacking[i] = rho * cv * (wall_temperature[i] - t)
        loss[i], exchange[i] = wall_rates((rho, u, g, t), (per[i], roughness[i], friction[i], bend[i], heat[i]))
    return floors, broken, fastest
