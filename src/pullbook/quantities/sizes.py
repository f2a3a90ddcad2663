"""Size of a gain with its unit, for a reader."""

from __future__ import annotations

from pullbook.quantities.showing import UnitSystem, show
from pullbook.quantities.units import UNITS, Dimension

__all__ = ["size_shown"]


def size_shown(size: float, unit: str, system: UnitSystem = UnitSystem.METRIC) -> str:
    """Size with its unit, in the units of a reader.

    Parameters
    ----------
    size : float
        The size. [N m, W or %]
    unit : str
        Its unit.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        With two significant digits or one decimal.

    Examples
    --------
    >>> size_shown(6.04, "N m"), size_shown(8000.0, "W"), size_shown(1.234, "%")
    ('6.0 N m', '8.0 kW', '1.2 %')
    """
    if unit == "%":
        return show(0.01 * size, UNITS["%"])
    return show(size, Dimension.TORQUE if unit == "N m" else Dimension.POWER, system)
