"""Ends and joins of a network as arrays."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.network_ends import AnechoicEnd, ClosedEnd, End, JoinEnd, OpenEnd, Side, ValveEnd, VolumeEnd
from pullbook.gas.engine_arrays import ANECHOIC, CLOSED, JOINED, OPEN, VALVE, VOLUME, Ends, Joins
from pullbook.gas.grid import FACE_AREA
from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STAGNATION, JOIN_STATIC, turning_cosines

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.operating import Operating
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

__all__ = ["ends_of", "joins_of", "valve_number"]

_MODELS: Final = {"mixing": JOIN_MIXING, "pressure": JOIN_STATIC, "stagnation": JOIN_STAGNATION}
_KINDS: Final[dict[type, int]] = {
    ClosedEnd: CLOSED, OpenEnd: OPEN, AnechoicEnd: ANECHOIC, VolumeEnd: VOLUME, ValveEnd: VALVE, JoinEnd: JOINED,
}  # fmt: skip


def valve_number(network: Network, cylinder: int, valve_set: int) -> int:
    """Index of a valve set when those of all cylinders are counted through."""
    return sum(len(one.valve_sets) for one in network.cylinders[:cylinder]) + valve_set


def _other(network: Network, end: End) -> int:
    match end:
        case VolumeEnd(volume=volume):
            return volume
        case ValveEnd(cylinder=cylinder, valve_set=valve_set):
            return valve_number(network, cylinder, valve_set)
        case JoinEnd(join=join):
            return join
        case _:
            return 0


def _loss(end: End) -> tuple[float, float]:
    if isinstance(end, OpenEnd):
        return end.loss_in, end.loss_out
    if isinstance(end, VolumeEnd):
        return end.area_in, end.area_out
    return 0.0, 0.0


def ends_of(network: Network, operating: Operating, pipes: Pipes, table: FloatArray) -> Ends:
    """Ends of all pipes.

    Parameters
    ----------
    network : Network
        Without jumps.
    operating : Operating
        Air outside and fuel.
    pipes : Pipes
        The pipes as cut. [SI]
    table : (3, 14) array of float
        Table of the gas. [SI]

    Returns
    -------
    Ends
        Two for each pipe. [SI]
    """
    count = 2 * len(network.pipes)
    kind, other, side = (np.zeros(count, dtype=np.int64) for _ in range(3))
    area, loss = np.zeros(count), np.zeros((count, 2))
    for one in network.attachments:
        right = int(one.end == "end")
        e = 2 * one.pipe + right
        kind[e], other[e] = _KINDS[type(one.to)], _other(network, one.to)
        area[e] = pipes.geometry[FACE_AREA, pipes.ends[one.pipe, right]]
        loss[e] = _loss(one.to)
        side[e] = int(network.pipes[one.pipe].side is Side.EXHAUST)
    outside = np.array([operating.reservoir(table, 0.0, operating.fuel_share), operating.reservoir(table, 0.0, 0.0)])
    return Ends(
        kind=kind, other=other, area=area, loss=loss, outside=outside, side=side, inside=np.zeros((count, 7)),
        flux=np.zeros((count, 5)), total=np.zeros((count, 5)),
    )  # fmt: skip


def joins_of(network: Network, operating: Operating) -> Joins:
    """Joins of pipes.

    Parameters
    ----------
    network : Network
        Without jumps.
    operating : Operating
        Air outside, whose pressure is the first guess. [SI]

    Returns
    -------
    Joins
        In the order of the network. [SI]
    """
    first, square, member = [0], [0], []
    cosines: list[FloatArray] = []
    for number in range(len(network.joins)):
        found = network.members(number)
        angles = [one.to.angle_deg for one in found if isinstance(one.to, JoinEnd)]
        member += [2 * one.pipe + int(one.end == "end") for one in found]
        first.append(len(member))
        square.append(square[-1] + len(found) ** 2)
        # A pipe whose gas leaves it in some direction leads away from the join in the opposite one.
        cosines.append(turning_cosines(np.array(angles) + 180.0).ravel())
    return Joins(
        first=np.array(first, dtype=np.int64),
        member=np.array(member, dtype=np.int64),
        area=np.zeros(len(member)),
        square=np.array(square, dtype=np.int64),
        cosine=np.concatenate(cosines) if cosines else np.zeros(0),
        model=np.array([_MODELS[join.model] for join in network.joins], dtype=np.int64),
        warm=np.full(len(network.joins), operating.air.pressure),
        inside=np.zeros((len(member), 7)),
        flux=np.zeros((len(member), 5)),
    )
