"""The pipes of a network cut into cells, all in one set of arrays.

Every pipe owns a run of *slots*: a ghost, its cells, a ghost. Slot ``j`` and the face between slots ``j - 1`` and ``j``
have the same index, so that one loop runs over all pipes without looking where one ends:

::

    slot      s     s+1   s+2   ...  e-2   e-1        s = start[k], e = start[k + 1]
            ghost | cell | cell | ... cell | ghost
    face         s+1    s+2   ...        e-1          ends[k] = (s + 1, e - 1)

A few more ghosts follow the last pipe, so that every loop runs over whole vectors.

"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["PipeShape", "Pipes", "pipe_set"]

# Rows of Pipes.geometry.
VOLUME: Final = 0
INVERSE_VOLUME: Final = 1  # zero in a ghost, so that nothing there ever changes
INVERSE_LENGTH: Final = 2  # of a cell; zero in a ghost
AREA: Final = 3  # mean over the cell
FACE_AREA: Final = 4
INVERSE_DIAMETER: Final = 5
ROUGHNESS: Final = 6  # over the diameter
FRICTION: Final = 7  # multiplier
BEND: Final = 8  # half of the loss coefficient per length
WALL_TEMPERATURE: Final = 9
HEAT: Final = 10  # multiplier
GEOMETRY_ROWS: Final = 11

# Rows of Pipes.work.
LOSS: Final = 0  # rate at which friction and bends slow the gas
EXCHANGE: Final = 1  # rate at which the gas takes the wall's temperature
LACKING: Final = 2  # energy per volume that the gas lacks to be as warm as the wall
FORCE: Final = 3  # of the wall on the gas, along the pipe
IMPEDANCE: Final = 4  # density times speed of sound
FACTORS: Final = 5  # six rows: density, velocity, pressure at the left and at the right face over those of the cell
WORK_ROWS: Final = 11
TAPER_ROWS: Final = 16

VECTOR: Final = 8  # floats


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeShape:
    """One pipe as it is given to the grid.

    Steady flow through tapers is exact when the given positions are multiples of the length of a cell. A throat inside
    a cell counts as wide as the cell's mean: 2.7 % too much flow when choked, for 32 mm in cells of 20 mm between
    tapers of 100 mm to 40 mm.

    Parameters
    ----------
    position : (m,) array of float
        Distances from the left end at which the diameter is given, from 0 to the length, increasing. [m]
    diameter : (m,) array of float
        Diameters there; straight lines between them. [m]
    cells : int
        Number of cells of equal length, at least 2.
    roughness : float
        Height of the wall's roughness. [m]
    friction : float
        Multiplier on the wall friction; 0 switches it off. [1]
    bend_loss : float
        Loss coefficient of all bends together, spread over the length. [1]
    wall_temperature : float
        Temperature of the wall. [K]
    heat : float
        Multiplier on the wall heat transfer; 0 switches it off. [1]
    """

    position: FloatArray
    diameter: FloatArray
    cells: int
    roughness: float = 4.5e-5
    friction: float = 1.0
    bend_loss: float = 0.0
    wall_temperature: float = 300.0
    heat: float = 1.0


class Pipes(NamedTuple):
    """All pipes of a network: what the kernels read and write.

    Attributes
    ----------
    start : (P + 1,) array of int
        Slot at which each pipe begins (its left ghost), and the number of slots. [1]
    ends : (P, 2) array of int
        Faces at the left and right end of each pipe. [1]
    tapers : (m,) array of int
        Cells whose area changes. [1]
    geometry : (11, n) array of float
        Constant rows, see the constants of this module. [SI]
    gas : array of float
        Table of the gas. [SI]
    state : (5, n) array of float
        Mass, momentum, total energy, burned mass, fuel mass per volume. [SI]
    temperature : (n,) array of float
        Temperature. [K]
    primitive : (7, n) array of float
        Density, velocity, pressure, gamma, energy offset q, burned fraction, fuel fraction; energy is
        p/(rho (gamma - 1)) + q close by. Kept in step with the state by ``prepare`` and ``update``. [SI]
    faces : (10, n) array of float
        Density, velocity, pressure, burned, fuel fraction left of each face, then right of it, at half step. [SI]
    flux : (5, n) array of float
        Mass, momentum (p + rho u^2) A, energy, burned, fuel through each face, positive to the right. [SI]
    fastest : (1,) array of float
        Largest wave speed over cell length; NaN where the state is. [1/s]
    wall_heat : (n,) array of float
        Energy that each cell has received from its wall since the caller last set this to zero. [J]
    work : (11, n) array of float
        Scratch of the kernels. [SI]
    taper_work : (16, 2 m') array of float
        Scratch of the kernels, for both faces of the cells of tapers only. [SI]
    """

    start: IntArray
    ends: IntArray
    tapers: IntArray
    geometry: FloatArray
    gas: FloatArray
    state: FloatArray
    temperature: FloatArray
    primitive: FloatArray
    faces: FloatArray
    flux: FloatArray
    fastest: FloatArray
    wall_heat: FloatArray
    work: FloatArray
    taper_work: FloatArray


def _cell_volumes(shape: PipeShape, faces: FloatArray) -> FloatArray:
    """Volumes between faces; exact for straight lines between the given diameters."""
    knots = np.union1d(faces, shape.position)
    ends = np.interp(knots, shape.position, shape.diameter)
    pieces = np.pi / 12.0 * np.diff(knots) * (ends[:-1] ** 2 + ends[:-1] * ends[1:] + ends[1:] ** 2)
    total = np.concatenate([[0.0], np.cumsum(pieces)])
    return np.diff(np.interp(faces, knots, total))


def _cut(shape: PipeShape) -> FloatArray:
    """Geometry rows of one pipe with its two ghosts."""
    length = float(shape.position[-1])
    step = length / shape.cells
    faces = np.linspace(0.0, length, shape.cells + 1)
    face_area = np.pi / 4.0 * np.interp(faces, shape.position, shape.diameter) ** 2
    if np.all(shape.diameter == shape.diameter[0]):
        # The same number everywhere, to the last digit: a straight pipe has no force along it.
        volume = np.full(shape.cells, face_area[0] * step)
    else:
        volume = _cell_volumes(shape, faces)
    rows = np.zeros((GEOMETRY_ROWS, shape.cells + 2))
    inner = slice(1, -1)
    rows[VOLUME, inner] = volume
    rows[INVERSE_VOLUME, inner] = 1.0 / volume
    rows[INVERSE_LENGTH, inner] = 1.0 / step
    rows[AREA, inner] = face_area[0] if np.ptp(face_area) == 0.0 else volume / step
    rows[FACE_AREA, 1:] = face_area
    rows[INVERSE_DIAMETER, inner] = np.sqrt(np.pi / (4.0 * rows[AREA, inner]))
    rows[ROUGHNESS] = shape.roughness * rows[INVERSE_DIAMETER]
    rows[FRICTION, inner] = shape.friction
    rows[BEND, inner] = 0.5 * shape.bend_loss / length
    rows[WALL_TEMPERATURE] = shape.wall_temperature
    rows[HEAT, inner] = shape.heat
    for row in (AREA, INVERSE_DIAMETER):
        rows[row, 0], rows[row, -1] = rows[row, 1], rows[row, -2]
    rows[FACE_AREA, 0] = face_area[0]
    return rows


def pipe_set(shapes: Sequence[PipeShape], gas: FloatArray) -> Pipes:
    """Cut pipes into cells and make room for their gas.

    The state is left at zero: the caller fills ``state`` and ``temperature`` in the cells (``fill_pipe`` does it for
    uniform gas) and calls ``prepare`` once.

    Parameters
    ----------
    shapes : sequence of PipeShape
        The pipes, at least one.
    gas : array of float
        Table of the gas. [SI]

    Returns
    -------
    Pipes
        Arrays of all pipes.

    Examples
    --------
    >>> import numpy as np
    >>> straight = PipeShape(position=np.array([0.0, 0.5]), diameter=np.array([0.04, 0.04]), cells=25)
    >>> pipes = pipe_set([straight, straight], np.zeros((3, 14)))
    >>> pipes.start.tolist(), pipes.ends.tolist()
    ([0, 27, 54], [[1, 26], [28, 53]])
    """
    start = np.concatenate([[0], np.cumsum([shape.cells + 2 for shape in shapes])]).astype(np.int64)
    used = int(start[-1])
    # Loops run over whole vectors; slots after the last pipe are ghosts as well.
    slots = -(-used // VECTOR) * VECTOR + VECTOR
    geometry = _rows(GEOMETRY_ROWS, slots)
    geometry[:, :used] = np.concatenate([_cut(shape) for shape in shapes], axis=1)
    geometry[:, used:] = geometry[:, used - 1 : used]
    ends = np.column_stack([start[:-1] + 1, start[1:] - 1]).astype(np.int64)
    changing = geometry[FACE_AREA, :-1] != geometry[FACE_AREA, 1:]
    tapers = np.flatnonzero(changing & (geometry[INVERSE_VOLUME, :-1] > 0.0)).astype(np.int64)
    work = _rows(WORK_ROWS, slots)
    work[FACTORS:] = 1.0
    # Ones, so that what fills the last vector is gas as well.
    taper_work = _rows(TAPER_ROWS, 2 * -(-len(tapers) // VECTOR) * VECTOR)
    taper_work[:] = 1.0
    taper_work[3] = 1.4
    taper_work[10] = 0.0
    return Pipes(
        start=start,
        ends=ends,
        tapers=tapers,
        geometry=geometry,
        gas=gas,
        state=_rows(5, slots),
        temperature=_rows(1, slots)[0],
        primitive=_rows(7, slots),
        faces=_rows(10, slots),
        flux=_rows(5, slots),
        fastest=np.zeros(1),
        wall_heat=_rows(1, slots)[0],
        work=work,
        taper_work=taper_work,
    )


def _rows(rows: int, slots: int) -> FloatArray:
    """Rows of zeros that begin where a vector of the processor begins."""
    room = np.zeros(rows * slots + VECTOR)
    skip = (-room.ctypes.data // room.itemsize) % VECTOR
    return room[skip : skip + rows * slots].reshape(rows, slots)
