"""Network and Operating -> EngineArrays: the pipes cut into cells and filled with gas, ready to run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.assemble_cylinders import cylinders_of, valves_of
from pullbook.engine.assemble_ends import ends_of, joins_of
from pullbook.engine.assemble_silencers import silencers_of
from pullbook.engine.network_ends import START, OpenEnd, Side, VolumeEnd
from pullbook.gas.engine_arrays import (
    CONDUCTANCE,
    CONTENT,
    LAST_TEMPERATURE,
    OPENING,
    VOLUME,
    VOLUME_ROWS,
    WALL,
    EngineArrays,
    Volumes,
)
from pullbook.gas.grid import (
    BEND,
    FRICTION,
    HEAT,
    INVERSE_DIAMETER,
    ROUGHNESS,
    WALL_TEMPERATURE,
    PipeShape,
    pipe_set,
)
from pullbook.gas.mixture import energy_of, gas_constant
from pullbook.gas.pipes import prepare
from pullbook.gas.silencer_shape import chambers_of

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.operating import Operating
    from pullbook.gas.engine_arrays import Ends
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

__all__ = ["EXHAUST_CELLS", "Assembled", "assemble"]

# Sound runs through exhaust gas about 1.8 times as fast as through fresh air, so that the same wave has as many of
# these longer cells, and the steps in time, which the fast waves of the exhaust bound, are longer.
EXHAUST_CELLS: Final = 1.6

# Gas at the start. The first cycles carry it away; a good guess saves one of them.
_EXHAUST_TEMPERATURE: Final = 950.0  # K
_EXHAUST_RISE: Final = 1.05  # pressure over that of the air
_FILM: Final = 15.0  # W/m2/K, slow gas in a volume
_HELD: Final = 1e9  # W/K, a wall that holds the gas at its temperature


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assembled:
    """An engine ready to run.

    Attributes
    ----------
    arrays : EngineArrays
        What the kernels work on. [SI]
    network : Network
        The network; its pipes are those of the arrays, in the same order.
    cell_size : float
        Length that was asked for. [m]
    """

    arrays: EngineArrays
    network: Network
    cell_size: float


def assemble(network: Network, operating: Operating, cell_size: float) -> Assembled:
    """Cut an engine into cells and fill it.

    Parameters
    ----------
    network : Network
        The engine.
    operating : Operating
        How it is run.
    cell_size : float
        Length of a cell on the intake side; those of the exhaust are `EXHAUST_CELLS` times as long. Each pipe takes the
        nearest whole number of cells, at least two. [m]

    Returns
    -------
    Assembled
        The engine, filled with fresh gas on the intake side and in the cylinders, and burned gas in the exhaust.
    """
    table = operating.chemistry.table.copy()
    pipes = pipe_set([_shape(network, number, cell_size) for number in range(len(network.pipes))], table)
    for number in range(len(network.pipes)):
        _line(pipes, network, number)
    _fill(pipes, network, operating)
    ends = ends_of(network, operating, pipes, table)
    arrays = EngineArrays(
        pipes=pipes,
        ends=ends,
        joins=joins_of(network, operating),
        volumes=_volumes(network, operating, table, ends),
        valves=valves_of(network, operating),
        cylinders=cylinders_of(network, operating, table),
        chambers=chambers_of(silencers_of(network, pipes), pipes, operating.air.pressure),
    )
    return Assembled(arrays=arrays, network=network, cell_size=cell_size)


def _shape(network: Network, number: int, cell_size: float) -> PipeShape:
    stations = np.array(network.sounding_stations(number))
    size = EXHAUST_CELLS * cell_size if network.pipes[number].side is Side.EXHAUST else cell_size
    cells = max(2, round(float(stations[-1, 0]) / size))
    return PipeShape(position=stations[:, 0], diameter=stations[:, 1], cells=cells)


def _line(pipes: Pipes, network: Network, number: int) -> None:
    """Give every cell of a pipe the wall of the section that its middle lies in."""
    pipe = network.pipes[number]
    cells = slice(int(pipes.start[number]) + 1, int(pipes.start[number + 1]) - 1)
    count = cells.stop - cells.start
    first = network.end_of(number, START)
    before = first.correction if isinstance(first, OpenEnd) else 0.0
    whole = network.sounding_stations(number)[-1][0]
    middle = (np.arange(count) + 0.5) * whole / count - before
    ends = np.cumsum([section.length for section in pipe.sections])
    section_of = np.minimum(np.searchsorted(ends, middle), len(pipe.sections) - 1)
    for index, section in enumerate(pipe.sections):
        here = cells.start + np.flatnonzero(section_of == index)
        wall, geometry = section.wall, pipes.geometry
        geometry[ROUGHNESS, here] = wall.roughness * geometry[INVERSE_DIAMETER, here]
        geometry[FRICTION, here], geometry[HEAT, here] = wall.friction, wall.heat
        geometry[WALL_TEMPERATURE, here] = wall.temperature
        geometry[BEND, here] = 0.5 * section.bend_loss / section.length


def _at_start(side: Side, operating: Operating) -> tuple[float, float, float, float]:
    """Pressure, temperature, burned and fuel fraction of the gas at the start."""
    if side is Side.INTAKE:
        return operating.air.pressure, operating.air.temperature, 0.0, operating.fuel_share
    return _EXHAUST_RISE * operating.air.pressure, _EXHAUST_TEMPERATURE, 1.0, 0.0


def _fill(pipes: Pipes, network: Network, operating: Operating) -> None:
    for number, pipe in enumerate(network.pipes):
        pressure, temperature, burned, fuel = _at_start(pipe.side, operating)
        cells = slice(int(pipes.start[number]), int(pipes.start[number + 1]))
        density = pressure / (gas_constant(pipes.gas, burned, fuel) * temperature)
        energy = density * energy_of(pipes.gas, temperature, burned, fuel)
        pipes.temperature[cells] = temperature
        for row, value in enumerate((density, 0.0, energy, density * burned, density * fuel)):
            pipes.state[row, cells] = value
    prepare(pipes)


def _volumes(network: Network, operating: Operating, table: FloatArray, ends: Ends) -> Volumes:
    count = len(network.volumes)
    state, settings = np.zeros((4, count)), np.zeros((VOLUME_ROWS, count))
    breathing = {one.to.volume for one in network.attachments if isinstance(one.to, VolumeEnd)}
    for v, volume in enumerate(network.volumes):
        pressure, temperature, burned, fuel = _at_start(volume.side, operating)
        mass = pressure * volume.volume / (gas_constant(table, burned, fuel) * temperature)
        state[:, v] = mass, mass * energy_of(table, temperature, burned, fuel), mass * burned, mass * fuel
        surface = 6.0 * volume.volume ** (2.0 / 3.0)
        conductance = _HELD if volume.isothermal else _FILM * surface * volume.wall.heat
        if v not in breathing:
            # The shell of a silencer: its side volumes hold its gas, and this one is left as it is.
            conductance = 0.0
        for row, value in (
            (CONTENT, volume.volume), (WALL, volume.wall.temperature), (CONDUCTANCE, conductance),
            (LAST_TEMPERATURE, temperature),
        ):  # fmt: skip
            settings[row, v] = value
    for e in np.flatnonzero(ends.kind == VOLUME):
        settings[OPENING, ends.other[e]] += ends.area[e]
    return Volumes(state=state, settings=settings, heat=np.zeros(count))
