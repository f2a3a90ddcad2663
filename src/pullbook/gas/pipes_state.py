"""From what is conserved to what is felt: pressure, velocity, temperature of every cell, and the largest time step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.compiled import kernel, row_kernel
from pullbook.gas.grid import (
    BEND,
    EXCHANGE,
    FRICTION,
    HEAT,
    INVERSE_DIAMETER,
    INVERSE_LENGTH,
    LACKING,
    LOSS,
    RATE,
    ROUGHNESS,
    WALL_TEMPERATURE,
)
from pullbook.gas.losses import wall_rates

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["gas_from_state", "largest_rate"]

LEAST_DENSITY: Final = 1e-5  # kg/m3
LEAST_TEMPERATURE: Final = 1.0  # K
MOST_TEMPERATURE: Final = 1e7  # K


@row_kernel
def _primitives(table: FloatArray, state: Rows, temperature: FloatArray, primitive: Rows) -> tuple[int, int]:
    """Density, velocity, pressure, gamma, q and fractions; two Newton steps on the temperature from the last one.

    Returns how many cells had to be floored, and how many are not a number.
    """
    mass, momentum, energy, burned, fuel = state
    density, velocity, pressure, gamma, offset, burned_fraction, fuel_fraction = primitive
    floors = 0
    broken = 0
    for i in range(len(mass)):
        thin = mass[i] < LEAST_DENSITY
        mass[i] = LEAST_DENSITY if thin else mass[i]
        inverse = 1.0 / mass[i]
        u = momentum[i] * inverse
        e = energy[i] * inverse - 0.5 * u * u
        yb = burned[i] * inverse
        yf = fuel[i] * inverse
        ya = 1.0 - yb - yf
        constant = ya * table[0, 0] + yb * table[1, 0] + yf * table[2, 0]
        at_break = ya * table[0, 1] + yb * table[1, 1] + yf * table[2, 1]
        low = e < at_break
        c0 = ya * (table[0, 2] if low else table[0, 8])
        c0 += yb * (table[1, 2] if low else table[1, 8]) + yf * (table[2, 2] if low else table[2, 8])
        c1 = ya * (table[0, 3] if low else table[0, 9])
        c1 += yb * (table[1, 3] if low else table[1, 9]) + yf * (table[2, 3] if low else table[2, 9])
        c2 = ya * (table[0, 4] if low else table[0, 10])
        c2 += yb * (table[1, 4] if low else table[1, 10]) + yf * (table[2, 4] if low else table[2, 10])
        c3 = ya * (table[0, 5] if low else table[0, 11])
        c3 += yb * (table[1, 5] if low else table[1, 11]) + yf * (table[2, 5] if low else table[2, 11])
        c4 = ya * (table[0, 6] if low else table[0, 12])
        c4 += yb * (table[1, 6] if low else table[1, 12]) + yf * (table[2, 6] if low else table[2, 12])
        c5 = ya * (table[0, 7] if low else table[0, 13])
        c5 += yb * (table[1, 7] if low else table[1, 13]) + yf * (table[2, 7] if low else table[2, 13])
        x = min(max(temperature[i] * 1e-3, 0.2), 5.0)
        rise = c1 + x * (2.0 * c2 + x * (3.0 * c3 + x * (4.0 * c4 + x * 5.0 * c5)))
        x += (e - (c0 + x * (c1 + x * (c2 + x * (c3 + x * (c4 + x * c5)))))) / rise
        within = min(max(x, 0.2), 5.0)
        rise = c1 + within * (2.0 * c2 + within * (3.0 * c3 + within * (4.0 * c4 + within * 5.0 * c5)))
        gap = e - (c0 + within * (c1 + within * (c2 + within * (c3 + within * (c4 + within * c5)))))
        x = within + gap / rise
        cv = rise * 1e-3
        found = x * 1e3
        cold = found < LEAST_TEMPERATURE
        t = LEAST_TEMPERATURE if cold else found
        energy[i] += mass[i] * cv * (t - found)
        floors += int(thin | cold)
        broken += int(not t < MOST_TEMPERATURE)
        temperature[i] = t
        density[i] = mass[i]
        velocity[i] = u
        pressure[i] = mass[i] * constant * t
        gamma[i] = 1.0 + constant / cv
        offset[i] = e + cv * (t - found) - cv * t
        burned_fraction[i] = yb
        fuel_fraction[i] = yf
    return floors, broken


@row_kernel
def _wave_rates(primitive: Rows, inverse_length: FloatArray, rate: FloatArray, bits: IntArray) -> None:
    """Largest rate, as the bits of a float: bits of positive floats are in the order of the floats, NaN above all."""
    density, velocity, pressure, gamma = primitive
    largest = np.int64(0)
    for i in range(len(rate)):
        speed = abs(velocity[i]) + np.sqrt(gamma[i] * pressure[i] / density[i])
        rate[i] = abs(speed * inverse_length[i])
        largest = max(largest, np.float64(rate[i]).view(np.int64))
    bits[0] = largest


@kernel
def gas_from_state(pipes: Pipes) -> tuple[int, int]:
    """Primitive rows, temperature, and wall rates from the state, in every slot."""
    s = pipes.state
    p = pipes.primitive
    g = pipes.geometry
    w = pipes.work
    t = pipes.temperature
    outcome = _primitives(pipes.gas, (s[0], s[1], s[2], s[3], s[4]), t, (p[0], p[1], p[2], p[3], p[4], p[5], p[6]))
    wall_rates(
        (p[0], p[1], p[2], p[3], t),
        (g[INVERSE_DIAMETER], g[ROUGHNESS], g[FRICTION], g[BEND], g[WALL_TEMPERATURE], g[HEAT]),
        (w[LOSS], w[EXCHANGE], w[LACKING]),
    )
    return outcome


@kernel
def largest_rate(pipes: Pipes) -> float:
    """Largest wave speed over cell length."""
    p = pipes.primitive
    bits = np.empty(1, dtype=np.int64)
    _wave_rates((p[0], p[1], p[2], p[3]), pipes.geometry[INVERSE_LENGTH], pipes.work[RATE], bits)
    return float(bits.view(np.float64)[0])
