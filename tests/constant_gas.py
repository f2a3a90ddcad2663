"""A gas of constant heat capacity in the layout of the kernels' table, for checks against closed formulas."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["constant_gas"]


def constant_gas(gamma: float, constant: float = 287.0) -> FloatArray:
    """Table of three equal components: e = cv (T - 298.15 K)."""
    capacity = constant / (gamma - 1.0)
    energy = [-capacity * 298.15, capacity * 1000.0, 0.0, 0.0, 0.0, 0.0]
    table = np.zeros((3, 14))
    table[0] = [constant, capacity * (1000.0 - 298.15), *energy, *energy]
    return table
