"""Order of pulls, builds and fittings that depends on the measurements alone, never on names or order of files."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.comparison import ComparablePull, Comparison

__all__ = ["RunOrder", "data_seed", "run_order"]

# Values are rounded before they are hashed, so that another unit of the same data gives the same seed. The offset keeps
# the round numbers that benches write away from the edges of the rounding.
_OFFSET = 0.1234567


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunOrder:
    """Pulls in order of time, with builds and fittings numbered as they first appear.

    Attributes
    ----------
    pulls : tuple of ComparablePull
        By time; pulls of the same time by their numbers.
    cells : tuple of str
        Builds that have pulls, as they first appear.
    cell : (n,) array of int
        Build of each pull.
    fitting : (n,) array of int
        Fitting of each pull.
    hours : (n,) array of float
        Time from the first pull. [h]
    """

    pulls: tuple[ComparablePull, ...]
    cells: tuple[str, ...]
    cell: IntArray
    fitting: IntArray
    hours: FloatArray


def _numbered(keys: Sequence[Hashable]) -> IntArray:
    """Number of each key by first appearance."""
    known: dict[Hashable, int] = {}
    return np.array([known.setdefault(key, len(known)) for key in keys], dtype=np.int64)


def run_order(comparison: Comparison) -> RunOrder:
    """Put the pulls of a comparison in the order that its measurements give.

    Parameters
    ----------
    comparison : Comparison
        With at least one pull.

    Returns
    -------
    RunOrder
        The same whatever the pulls, builds and files are called and in whatever order they were given.
    """
    pulls = tuple(
        sorted(
            comparison.pulls,
            key=lambda pull: (pull.time, pull.speed_rpm.size, pull.speed_rpm.tolist(), pull.torque.tolist()),
        )
    )
    cell = _numbered([pull.build for pull in pulls])
    return RunOrder(
        pulls=pulls,
        cells=tuple(dict.fromkeys(pull.build for pull in pulls)),
        cell=cell,
        fitting=_numbered([(pull.build, pull.fitting) for pull in pulls]),
        hours=np.array([pull.time - pulls[0].time for pull in pulls]) / 3600.0,
    )


def data_seed(order: RunOrder, level: FloatArray) -> int:
    """Seed of the draws: a hash of times, fittings, speeds and levels, rounded so that units do not matter.

    Parameters
    ----------
    order : RunOrder
        The pulls.
    level : (n,) array of float
        Mean torque of each pull over that of the session. [%]

    Returns
    -------
    int
        Non-negative, below 2**63.
    """
    digest = hashlib.blake2b(digest_size=8)
    for values in (order.hours * 3600.0, order.cell, order.fitting, level):
        digest.update(np.rint(values + _OFFSET).astype("<i8").tobytes())
    for pull in order.pulls:
        digest.update(np.rint(pull.speed_rpm + _OFFSET).astype("<i8").tobytes())
    return int.from_bytes(digest.digest(), "little") >> 1
