"""How much torque a difference of conditions could explain, where that is known.

References
----------
.. [1] Derivatives of SAE J1349 at its reference air: 0.198 % a kelvin, 1.19 % a kilopascal, 0.38 % for ten points of
   humidity at 25 degC; SAE J607 and ISO 1585 differ from them by up to 0.03 % a kelvin and 0.2 % a kilopascal, which
   is what a correction leaves in doubt. Computed from the formulas.
.. [2] About 5 % less torque at lambda 1.00 than at 0.88, falling off as a parabola. Common practice, from memory.
.. [3] About 1 % less torque at 5 degrees from the best spark, falling off as a parabola. Common practice, from memory.
.. [4] Oil loses about 3 % of its viscosity a kelvin near 90 degC; friction is about 15 % of torque, and half of it
   follows the root of viscosity: 0.1 % of torque a kelvin. Common practice, from memory.
.. [5] Crank, flywheel and clutch of a car engine: 0.1 to 0.3 kg m^2. Common practice, from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem, show_range
from pullbook.quantities.units import Dimension
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pullbook.records.session import Session

__all__ = ["explained"]

_AIR_WHOLE: Final = {Channel.AIR_TEMPERATURE: 0.198, Channel.AIR_PRESSURE: 1.19e-3, Channel.AIR_HUMIDITY: 3.8}
_AIR_LEFT: Final = {Channel.AIR_TEMPERATURE: 0.03, Channel.AIR_PRESSURE: 0.2e-3}  # [1]_, per cent per SI unit
_BEST_MIXTURE: Final = 0.88
_MIXTURE_CURVE: Final = 5.0 / (1.0 - _BEST_MIXTURE) ** 2  # [2]_
_SPARK_CURVE: Final = 1.0 / 5.0**2  # [3]_, per cent a square degree
_SPARK_OFF: Final = 5.0  # how far from the best spark a map is taken to be
_OIL: Final = 0.1  # [4]_
_CAR_INERTIA: Final = (0.1, 0.3)  # [5]_
_SMALLEST: Final = 0.005  # per cent; less is written as nothing


def explained(
    channel: Channel,
    means: tuple[float, float],
    *,
    session: Session,
    torque: float | None,
    system: UnitSystem = UnitSystem.METRIC,
) -> tuple[float | None, str]:
    """Torque change that a difference in one channel could fake.

    Parameters
    ----------
    channel : Channel
        What differs.
    means : tuple of (float, float)
        Mean in the build, and in the baseline. [SI unit of the channel]
    session : Session
        Standard and inertia, which take away part of it.
    torque : float or None
        Mean torque of the baseline; None where torque is a signal without calibration. [N m]
    system : UnitSystem
        Units of the words.

    Returns
    -------
    percent : float or None
        Size; None where nobody knows. [% of torque]
    words : str
        Why, to follow the size.
    """
    change = abs(means[0] - means[1])
    if channel in _AIR_WHOLE:
        return _of_air(channel, change, corrected=session.standard is not Standard.NONE)
    if channel is Channel.MIXTURE:
        off = [(mean - _BEST_MIXTURE) ** 2 for mean in means]
        return _MIXTURE_CURVE * abs(off[0] - off[1]), "if lambda 0.88 is best and 1.00 is 5 % worse, as is usual"
    if channel is Channel.SPARK:
        return _SPARK_CURVE * ((_SPARK_OFF + change) ** 2 - _SPARK_OFF**2), "if the map is 5° from the best spark"
    if channel is Channel.OIL_TEMPERATURE:
        return _OIL * change, "through friction, at 0.1 % a kelvin, as is usual"
    if channel is Channel.SWEEP_RATE:
        return _of_sweep(change, session, torque, system)
    return None, ""


def _of_air(channel: Channel, change: float, *, corrected: bool) -> tuple[float | None, str]:
    if not corrected:
        return _AIR_WHOLE[channel] * change, "because nothing was corrected"
    left = _AIR_LEFT.get(channel)
    if left is None or left * change < _SMALLEST:
        return None, ""
    return left * change, "which is what the correction standards disagree about"


def _of_sweep(change: float, session: Session, torque: float | None, system: UnitSystem) -> tuple[float | None, str]:
    if session.inertia is not None:
        return None, ""
    acceleration = change * math.pi / 30.0
    low, high = (inertia * acceleration for inertia in _CAR_INERTIA)
    inertias = show_range(*_CAR_INERTIA, Dimension.INERTIA, system)
    words = f"{show_range(low, high, Dimension.TORQUE, system)} with {inertias}, usual for a car engine"
    return (100.0 * high / torque if torque else None), words
