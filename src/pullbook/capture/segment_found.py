"""Stretches of a log with what they are: the common language of the finders."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from pullbook.capture.segment_throttle import load_of
from pullbook.quantities.channels import Channel

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.pull import Direction

__all__ = ["Kind", "Stretch", "View", "view_of"]


class Kind(StrEnum):
    """What a stretch of a log is."""

    PULL = "pull"
    FREE_REV = "free-rev"
    PART_THROTTLE = "part throttle"
    PLATEAU = "plateau"
    IDLE = "idle"
    TOO_SHORT = "too short"
    GEAR_CHANGE = "gear change"
    COASTING = "coasting"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretch:
    """Records of a view that belong together.

    Attributes
    ----------
    places : (k,) array of int
        Positions in the view. [1]
    kind : Kind
        What they are.
    direction : Direction
        How the speed moved.
    says : str
        One sentence, without full stop.
    doubts : tuple of str
        What had to be guessed.
    holds : tuple of (int, int)
        First and last position of each steady point, for a step test. [1]
    """

    places: IntArray
    kind: Kind
    direction: Direction
    says: str
    doubts: tuple[str, ...] = ()
    holds: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """Records of a log that have an engine speed, with strictly increasing time where there is one.

    Attributes
    ----------
    channels : mapping of Channel to (n,) array of float
        Channels of the log, cut to those records. [SI unit of the channel]
    rows : (n,) array of int
        Rows of the file. [1]
    time : (n,) array of float or None
        Time without repeats. [s]
    """

    channels: Mapping[Channel, FloatArray]
    rows: IntArray
    time: FloatArray | None

    @property
    def speed(self) -> FloatArray:
        """Engine speed [rpm]."""
        return self.channels[Channel.SPEED]

    @property
    def load(self) -> FloatArray | None:
        """Torque or load signal [N m or as recorded]."""
        return load_of(self.channels)


def view_of(channels: Mapping[Channel, FloatArray], rows: IntArray) -> View:
    """Records with an engine speed."""
    good = np.isfinite(channels[Channel.SPEED])
    if good.all():
        cut = dict(channels)
    else:
        cut, rows = {channel: values[good] for channel, values in channels.items()}, rows[good]
    return View(channels=cut, rows=rows, time=_usable_time(cut.get(Channel.TIME)))


def _usable_time(time: FloatArray | None) -> FloatArray | None:
    """Time that increases strictly: held stamps are spread evenly, a clock that starts again goes on from before.

    None where there is no time, or where it is blank in a tenth of the records.
    """
    if time is None or time.size < 3:
        return None
    known = np.isfinite(time)
    if known.mean() < 0.9 or float(np.ptp(time[known])) == 0.0:
        return None
    places = np.arange(time.size)
    filled = time if known.all() else np.interp(places, places[known], time[known])
    step = np.diff(filled)
    if (step > 0.0).all():
        return filled
    usual = float(np.median(step[step > 0.0])) if (step > 0.0).any() else 0.0
    if usual == 0.0:
        return None
    going = np.concatenate(([0.0], np.cumsum(np.where(step < 0.0, usual, step))))
    fresh = np.concatenate(([True], np.diff(going) > 0.0))
    end = going[-1] if fresh[-1] else going[-1] + usual
    knots = np.concatenate((places[fresh], [] if fresh[-1] else [places[-1]]))
    spread: FloatArray = np.interp(places, knots, np.concatenate((going[fresh], [] if fresh[-1] else [end])))
    return spread
