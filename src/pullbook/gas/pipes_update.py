"""Balance of every cell over one step, and what went wrong in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.gas.compiled import row_kernel

if TYPE_CHECKING:
    from pullbook.gas.losses import Rows
    from pullbook.quantities.arrays import FloatArray

__all__ = ["balance"]


@row_kernel
def balance(dt: float, volume: Rows, wall: Rows, flux: Rows, state: Rows, heat: FloatArray) -> None:
    """Add what flows in and what the wall does; rows of a flux: at the cell's left face, then at its right."""
    inverse_volume, full_volume = volume
    loss, exchange, lacking, force = wall
    mass, momentum, energy, burned, fuel = state
    for i in range(len(inverse_volume)):
        h = dt * inverse_volume[i]
        # Heat to second order in the step; never more than until the gas is as warm as the wall.
        x = dt * exchange[i]
        calm = 1.0 + x * (0.5 + x * (1.0 / 6.0))
        slow = 1.0 + dt * loss[i]
        inverse = 1.0 / (calm * slow)
        gain = x * (slow * inverse) * lacking[i]
        mass[i] += h * (flux[0][i] - flux[5][i])
        momentum[i] = (momentum[i] + h * (flux[1][i] - flux[6][i] + force[i])) * (calm * inverse)
        energy[i] += h * (flux[2][i] - flux[7][i]) + gain
        burned[i] += h * (flux[3][i] - flux[8][i])
        fuel[i] += h * (flux[4][i] - flux[9][i])
        heat[i] += gain * full_volume[i]
