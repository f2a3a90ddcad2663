"""Wave map: pressure, speed, temperature and burned gas over distance and crank angle, and arrivals of reflections."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.engine.network_ends import Side
from pullbook.gas.crank import cylinder_volume
from pullbook.gas.mixture import cv_of

if TYPE_CHECKING:
    from pullbook.engine.cycle import Settled
    from pullbook.quantities.arrays import FloatArray

__all__ = ["CYCLE_DEG", "PipeWaves", "Track", "follow", "pipe_waves", "wave_arrays"]

CYCLE_DEG: Final = 720.0
_SLOWEST: Final = 0.02  # of the speed of sound; slower than that a wave stands still
_GRID: Final = np.arange(200.0, 4005.0, 5.0)  # K; straight lines between are within 1e-5 of the heat capacity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PipeWaves:
    """One pipe over one cycle.

    Attributes
    ----------
    name : str
        The pipe.
    angle_deg : (n,) array of float
        Crank angles of the engine. [deg]
    distance : (m,) array of float
        Middles of the cells from the start of the pipe. [m]
    pressure, velocity, temperature, burned : (m, n) array of float
        Pressure, velocity along the pipe, temperature, burned mass fraction. [Pa, m/s, K, 1]
    density, sound_speed : (m, n) array of float
        Density, speed of sound. [kg/m3, m/s]
    """

    name: str
    angle_deg: FloatArray
    distance: FloatArray
    pressure: FloatArray
    velocity: FloatArray
    temperature: FloatArray
    burned: FloatArray
    density: FloatArray
    sound_speed: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Way of a small wave through one pipe.

    Attributes
    ----------
    angle_deg : (n,) array of float
        Crank angles, not wrapped: they rise beyond 720. [deg]
    distance : (n,) array of float
        Places, from the start of the pipe. [m]
    stopped : bool
        The gas ran against it at the speed of sound, and it did not come to where it should.
    """

    angle_deg: FloatArray
    distance: FloatArray
    stopped: bool


def pipe_waves(settled: Settled, pipe: int) -> PipeWaves:
    """Waves in one pipe.

    Parameters
    ----------
    settled : Settled
        A run with all cells written down.
    pipe : int
        Index of the pipe.

    Returns
    -------
    PipeWaves
        Over the last cycle.
    """
    pipes, trace = settled.assembled.arrays.pipes, settled.trace
    cells = slice(int(pipes.start[pipe]) + 1, int(pipes.start[pipe + 1]) - 1)
    stations = settled.assembled.network.sounding_stations(pipe)
    count = cells.stop - cells.start
    step = stations[-1][0] / count
    pressure, velocity, temperature, burned = (trace.cells[row, cells] for row in range(4))
    # What is not burned: in the intake fresh mixture, whose fuel comes with the air from the open end on; in the
    # exhaust mostly air sucked in at its open end. What is scavenged in overlap has fuel, which is left out.
    fuel = settled.operating.fuel_share if settled.assembled.network.pipes[pipe].side is Side.INTAKE else 0.0
    constant, gamma = _thermal(pipes.gas, fuel, temperature, burned)
    return PipeWaves(
        name=settled.assembled.network.pipes[pipe].name,
        angle_deg=np.degrees(trace.angle),
        distance=np.asarray((np.arange(count) + 0.5) * step, dtype=np.float64),
        pressure=pressure,
        velocity=velocity,
        temperature=temperature,
        burned=burned,
        density=pressure / (constant * temperature),
        sound_speed=np.sqrt(gamma * constant * temperature),
    )


def _thermal(gas: FloatArray, fuel_share: float, temperature: FloatArray, burned: FloatArray) -> tuple[Any, Any]:
    """Gas constant, and gamma from the heat capacities of air, burned gas and fuel. [J/kg/K, 1]."""
    parts = ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    curves = (np.array([cv_of(gas, t, yb, yf) for t in _GRID.tolist()]) for yb, yf in parts)
    air, burned_gas, vapour = (np.interp(temperature, _GRID, curve) for curve in curves)
    fuel = (1.0 - burned) * fuel_share
    capacity = air + burned * (burned_gas - air) + fuel * (vapour - air)
    constant = gas[0, 0] + burned * gas[1, 0] + fuel * gas[2, 0]
    return constant, 1.0 + constant / capacity


def follow(
    waves: PipeWaves, start_deg: float, speed_rpm: float, way: tuple[float, float], capacity: float = 1.0
) -> Track:
    r"""Follow a small wave from one place of a pipe to another, through the computed flow.

    .. math:: \frac{d\theta}{dx} = \frac{6 n}{\pm u + c}

    by Heun's method from cell to cell, with u and c between cells and samples by straight lines, and the cycle repeated
    without end. Where side volumes take up gas, the wave that arrives is slower: with the capacity k (gas that pipe and
    side volumes take up by the gas that the pipe alone does) its speed is the root of
    :math:`(u - k\lambda)(u - \lambda) = c^2`.

    Parameters
    ----------
    waves : PipeWaves
        The pipe.
    start_deg : float
        Crank angle at which the wave sets out. [deg]
    speed_rpm : float
        Engine speed. [rpm]
    way : tuple of (float, float)
        From where to where, from the start of the pipe; downwards if the second is less. [m, m]
    capacity : float
        k, 1 for a plain pipe. [1]

    Returns
    -------
    Track
        The way; it ends early where the gas runs against the wave at the speed of sound.

    Notes
    -----
    In uniform steady gas it is exact. Beyond the middle of the first and the last cell the gas is as in that cell.
    """
    start, stop = way
    sign = 1.0 if stop >= start else -1.0
    between = waves.distance[(waves.distance - start) * (waves.distance - stop) < 0.0]
    places = [start, *(between if sign > 0.0 else between[::-1]).tolist(), stop]
    angles = [start_deg]
    ahead = _speed(waves, start, start_deg, sign, capacity)
    for here, there in pairwise(places):
        turn = 6.0 * speed_rpm * abs(there - here)
        found = math.nan
        if ahead > 0.0:
            first = turn / ahead
            ahead_there = _speed(waves, there, angles[-1] + first, sign, capacity)
            found = angles[-1] + 0.5 * (first + turn / ahead_there) if ahead_there > 0.0 else math.nan
        if math.isnan(found):
            return Track(angle_deg=np.array(angles), distance=np.array(places[: len(angles)]), stopped=True)
        angles.append(found)
        ahead = _speed(waves, there, found, sign, capacity)
    return Track(angle_deg=np.array(angles), distance=np.array(places), stopped=False)


def _speed(waves: PipeWaves, place: float, angle_deg: float, sign: float, capacity: float) -> float:
    """Speed of a wave along its way; 0 where it hardly moves or is carried back. [m/s]."""
    last = waves.distance.size - 1
    step = float(waves.distance[1] - waves.distance[0])
    along = min(max((place - float(waves.distance[0])) / step, 0.0), float(last))
    cell = min(int(along), last - 1)
    count = waves.angle_deg.size
    angle = (angle_deg - float(waves.angle_deg[0])) % CYCLE_DEG + float(waves.angle_deg[0])
    before = int(np.searchsorted(waves.angle_deg, angle, side="right")) - 1
    after = (before + 1) % count
    width = (float(waves.angle_deg[after]) - float(waves.angle_deg[before])) % CYCLE_DEG
    late = (angle - float(waves.angle_deg[before])) / width if width > 0.0 else 0.0
    right = along - cell

    def at(field: FloatArray) -> float:
        first = (1.0 - right) * field[cell, before] + right * field[cell + 1, before]
        second = (1.0 - right) * field[cell, after] + right * field[cell + 1, after]
        return float((1.0 - late) * first + late * second)

    velocity, sound = sign * at(waves.velocity), at(waves.sound_speed)
    spread = math.hypot(velocity * (1.0 - capacity), 2.0 * math.sqrt(capacity) * sound)
    speed = (velocity * (1.0 + capacity) + spread) / (2.0 * capacity)
    return speed if speed > _SLOWEST * sound else 0.0


def wave_arrays(settled: Settled) -> dict[str, FloatArray]:
    """All arrays of a run for a file: angles, cylinders, and each pipe by its name.

    Parameters
    ----------
    settled : Settled
        A run with all cells written down.

    Returns
    -------
    dict of str to array of float
        Names and arrays. [SI, deg]
    """
    network, trace = settled.assembled.network, settled.trace
    found: dict[str, FloatArray] = {"angle_deg": np.degrees(trace.angle)}
    for c, cylinder in enumerate(network.cylinders):
        prefix = f"cylinder {cylinder.number}"
        for row, name in enumerate(("pressure", "temperature", "mass", "burned")):
            found[f"{prefix}/{name}"] = trace.cylinder[c, row]
        found[f"{prefix}/volume"] = _volumes(settled, c)
    for number, pipe in enumerate(network.pipes):
        waves = pipe_waves(settled, number)
        for name in ("distance", "pressure", "velocity", "temperature", "burned", "sound_speed"):
            found[f"{pipe.name}/{name}"] = getattr(waves, name)
    return found


def _volumes(settled: Settled, c: int) -> FloatArray:
    firing = settled.assembled.network.cylinders[c].firing_angle_deg * pi / 180.0
    crank = settled.assembled.arrays.cylinders.crank[c]
    return np.array([cylinder_volume(angle - firing, crank) for angle in settled.trace.angle.tolist()])
