"""From what is conserved to what is felt: pressure, velocity, temperature of every cell, and the largest time step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.compiled import row_kernel
from pullbook.gas.energy_polynomial import loaded, mixed, two_steps
from pullbook.gas.grid import (
    BEND,
    EXCHANGE,
    FRICTION,
    HEAT,
    INVERSE_DIAMETER,
    INVERSE_LENGTH,
    LACKING,
    LOSS,
    ROUGHNESS,
    WALL_TEMPERATURE,
)
from pullbook.gas.losses import wall_rates

if TYPE_CHECKING:
    from typing import TypeAlias

    from pullbook.gas.grid import Pipes
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

    Outcome: TypeAlias = tuple[int, int, np.int64]

__all__ = ["gas_from_state"]

# The floors, and what no temperature can be.
LEAST_DENSITY: Final = 1e-5  # kg/m3
LEAST_TEMPERATURE: Final = 1.0  # K
MOST_TEMPERATURE: Final = 1e7  # K


@row_kernel
def _primitives(table: FloatArray, wall: Rows, state: Rows, temperature: FloatArray, primitive: Rows) -> Outcome:
    """Primitive rows with the temperature found by two Newton steps from the last one.

    Returns how many cells had to be floored, how many are not a number, and the largest rate of a wave as the bits of a
    float: bits of positive floats are in the order of the floats, those of NaN above all.
    """
    mass, momentum, energy, burned, fuel = state
    density, velocity, pressure, gamma, offset, burned_fraction, fuel_fraction, lacking = primitive
    inverse_length, wall_temperature = wall
    rows = loaded(table)
    floors = 0
    broken = 0
    fastest = np.int64(0)
    for i in range(len(inverse_length)):
        thin = mass[i] < LEAST_DENSITY
        rho = LEAST_DENSITY if thin else mass[i]
        inverse = 1.0 / rho
        u = momentum[i] * inverse
        e = energy[i] * inverse - 0.5 * u * u
        yb = burned[i] * inverse
        yf = fuel[i] * inverse
        row = mixed(rows, yb, yf)
        constant = row[0]
        found, cv = two_steps(row, e, temperature[i])
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
        energy[i] = rho * (e + 0.5 * u * u) if cold else energy[i]
        temperature[i] = t
        density[i] = rho
        velocity[i] = u
        pressure[i] = rho * specific
        gamma[i] = g
        offset[i] = e - cv * t
        burned_fraction[i] = yb
        fuel_fraction[i] = yf
        lacking[i] = rho * cv * (wall_temperature[i] - t)
    return floors, broken, fastest


@row_kernel
def gas_from_state(pipes: Pipes) -> tuple[int, int]:
    """Primitive rows, temperature, and wall rates from the state, in every slot."""
    s = pipes.state
    p = pipes.primitive
    g = pipes.geometry
    w = pipes.work
    t = pipes.temperature
    floors, broken, fastest = _primitives(
        pipes.gas,
        (g[INVERSE_LENGTH], g[WALL_TEMPERATURE]),
        (s[0], s[1], s[2], s[3], s[4]),
        t,
        (p[0], p[1], p[2], p[3], p[4], p[5], p[6], w[LACKING]),
    )
    pipes.fastest.view(np.int64)[0] = fastest
    wall_rates(
        (p[0], p[1], p[3], t),
        (g[INVERSE_DIAMETER], g[ROUGHNESS], g[FRICTION], g[BEND], g[HEAT]),
        (w[LOSS], w[EXCHANGE]),
    )
    return floors, broken
