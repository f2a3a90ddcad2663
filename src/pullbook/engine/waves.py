"""Wave map: pressure, speed, temperature and burned gas over distance and crank angle, and arrivals of reflections."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.crank import cylinder_volume
from pullbook.gas.mixture import cv_of, gas_constant

if TYPE_CHECKING:
    from pullbook.engine.cycle import Settled
    from pullbook.quantities.arrays import FloatArray

__all__ = ["PipeWaves", "pipe_waves", "trace_characteristic", "wave_arrays"]


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
    sound_speed : (m, n) array of float
        Speed of sound. [m/s]
    """

    name: str
    angle_deg: FloatArray
    distance: FloatArray
    pressure: FloatArray
    velocity: FloatArray
    temperature: FloatArray
    burned: FloatArray
    sound_speed: FloatArray


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
    table = pipes.gas
    constant = table[0, 0] + burned * table[1, 0]
    # Gamma from the heat capacity of air and burned gas at the temperature; the little fuel vapour is left out.
    gamma = _gamma(table, temperature, burned)
    return PipeWaves(
        name=settled.assembled.network.pipes[pipe].name,
        angle_deg=np.degrees(trace.angle),
        distance=np.asarray((np.arange(count) + 0.5) * step, dtype=np.float64),
        pressure=pressure,
        velocity=velocity,
        temperature=temperature,
        burned=burned,
        sound_speed=np.sqrt(gamma * constant * temperature),
    )


def _gamma(table: FloatArray, temperature: FloatArray, burned: FloatArray) -> FloatArray:
    found = [
        1.0 + gas_constant(table, yb, 0.0) / cv_of(table, t, yb, 0.0)
        for t, yb in zip(temperature.ravel().tolist(), burned.ravel().tolist(), strict=True)
    ]
    return np.array(found).reshape(temperature.shape)


def trace_characteristic(waves: PipeWaves, start_deg: float, speed_rpm: float, *, forward: bool) -> tuple[float, ...]:
    """Angles at which a small wave passes the cells, from one end of a pipe to the other.

    Parameters
    ----------
    waves : PipeWaves
        The pipe.
    start_deg : float
        Crank angle at which the wave sets out. [deg]
    speed_rpm : float
        Engine speed. [rpm]
    forward : bool
        From the start of the pipe to its end, with u + a; else the other way, with u - a.

    Returns
    -------
    tuple of float
        Crank angle at each cell on the way. [deg]
    """
    order = range(waves.distance.size) if forward else range(waves.distance.size - 1, -1, -1)
    step = float(waves.distance[1] - waves.distance[0])
    angle, angles = start_deg, []
    for first, cell in enumerate(order):
        width = 0.5 * step if first == 0 else step
        along = waves.velocity[cell] if forward else -waves.velocity[cell]
        speed = float(np.interp(angle % 720.0, waves.angle_deg, along + waves.sound_speed[cell], period=720.0))
        angle += 6.0 * speed_rpm * width / max(speed, 1.0)
        angles.append(angle)
    return tuple(angles)


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
