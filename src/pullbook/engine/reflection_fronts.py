"""Fronts that valves send out: the blow-down of an exhaust port, the suction of an intake port."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.network_ends import START, Side, ValveEnd
from pullbook.engine.waves import CYCLE_DEG, PipeWaves
from pullbook.records.reflections import Wave

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.engine.network import Network
    from pullbook.quantities.arrays import FloatArray

__all__ = ["RISE", "Front", "front_of", "fronts_of", "outgoing"]

RISE: Final = 0.3  # of the whole change, at which a front is said to pass


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """Front that sets out from valves.

    Attributes
    ----------
    cylinder, valve_set : int
        Indices of the cylinder and of its valve set.
    pipe : int
        Index of the pipe at the valves.
    starts : bool
        The valves are at the start of the pipe.
    wave : Wave
        Pressure or suction.
    angle_deg : float
        Crank angle of the engine at which it leaves the valves. [deg]
    """

    cylinder: int
    valve_set: int
    pipe: int
    starts: bool
    wave: Wave
    angle_deg: float


def outgoing(waves: PipeWaves, *, starts: bool) -> FloatArray:
    r"""Part of the pressure beside the valves that runs away from them, :math:`\tfrac12 (p + \rho c u)`.

    Parameters
    ----------
    waves : PipeWaves
        The pipe at the valves.
    starts : bool
        The valves are at its start.

    Returns
    -------
    (n,) array of float
        In the cell beside the valves, u away from them. [Pa]
    """
    cell, sign = (0, 1.0) if starts else (-1, -1.0)
    impedance = waves.density[cell] * waves.sound_speed[cell]
    found: FloatArray = 0.5 * (waves.pressure[cell] + sign * impedance * waves.velocity[cell])
    return found


def front_of(waves: PipeWaves, window_deg: tuple[float, float], wave: Wave, *, starts: bool) -> float | None:
    """Angle at which the front that valves send out passes the cell beside them.

    The part of the pressure that runs away from the valves changes, from when they open, to its extreme while they are
    open; the front passes when 3/10 of that change is first made.

    Parameters
    ----------
    waves : PipeWaves
        The pipe at the valves.
    window_deg : tuple of (float, float)
        Crank angles of the engine at which the valves open and close; the second is the larger. [deg, deg]
    wave : Wave
        Whether pressure rises (pressure) or falls (suction).
    starts : bool
        The valves are at the start of the pipe.

    Returns
    -------
    float or None
        Crank angle, not wrapped; None if the pressure does not change that way. [deg]
    """
    opens, closes = window_deg
    angles = np.arange(opens, closes, 0.25)
    level = np.interp(angles, waves.angle_deg, outgoing(waves, starts=starts), period=CYCLE_DEG)
    change = (level - level[0]) * (1.0 if wave is Wave.PRESSURE else -1.0)
    wanted = RISE * float(change.max())
    if not wanted > 0.0:
        return None
    after = int(np.argmax(change > wanted))
    return float(np.interp(wanted, change[after - 1 : after + 1], angles[after - 1 : after + 1]))


def fronts_of(network: Network, waves_of: Callable[[int], PipeWaves], speed_rpm: float) -> tuple[Front, ...]:
    """Fronts of all ports, taken back from the middle of the cell beside the valves to the valves.

    Parameters
    ----------
    network : Network
        The engine.
    waves_of : callable
        Waves in a pipe, by its index.
    speed_rpm : float
        Engine speed. [rpm]

    Returns
    -------
    tuple of Front
        By cylinder, intake first.
    """
    found: list[Front] = []
    for one in network.attachments:
        if not isinstance(one.to, ValveEnd):
            continue
        cylinder = network.cylinders[one.to.cylinder]
        valves = cylinder.valve_sets[one.to.valve_set]
        wave = Wave.PRESSURE if valves.side is Side.EXHAUST else Wave.SUCTION
        starts, waves = one.end == START, waves_of(one.pipe)
        firing = cylinder.firing_angle_deg
        window = (valves.opens_deg + firing, valves.closes_deg + firing)
        angle = front_of(waves, window, wave, starts=starts)
        if angle is None:
            continue
        cell, sign = (0, 1.0) if starts else (-1, -1.0)
        away = sign * waves.velocity[cell] + waves.sound_speed[cell]
        speed = float(np.interp(angle % CYCLE_DEG, waves.angle_deg, away, period=CYCLE_DEG))
        half = 0.5 * float(waves.distance[1] - waves.distance[0])
        back = 6.0 * speed_rpm * half / speed if speed > 0.0 else 0.0
        found.append(
            Front(cylinder=one.to.cylinder, valve_set=one.to.valve_set, pipe=one.pipe, starts=starts, wave=wave,
                  angle_deg=angle - back)
        )  # fmt: skip
    return tuple(sorted(found, key=lambda front: (front.cylinder, front.valve_set)))
