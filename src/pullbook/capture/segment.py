"""Full-throttle pulls in a log, and what the rest of the log is."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.segment_found import Kind, Stretch, View, view_of
from pullbook.capture.segment_points import find_in_points, is_table_of_points
from pullbook.capture.segment_ramps import Leg
from pullbook.capture.segment_steps import means_of_holds
from pullbook.capture.segment_sweeps import find_in_time
from pullbook.errors import FileRefusedError
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction, Pull

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pull import Log

__all__ = ["Kind", "Segmentation", "SetAside", "find_pulls", "fingerprint", "require_pulls"]

_CONSTANT: Final = 0.03
_TELLING: Final = (Kind.PART_THROTTLE, Kind.FREE_REV, Kind.TOO_SHORT, Kind.PLATEAU, Kind.COASTING, Kind.IDLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """Stretch of a log that is no full-throttle pull.

    Attributes
    ----------
    first_row, last_row : int
        Rows of the file, from 1. [1]
    kind : Kind
        What it is.
    says : str
        One sentence about it, without full stop.
    """

    first_row: int
    last_row: int
    kind: Kind
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Segmentation:
    """What was found in one log.

    Attributes
    ----------
    pulls : tuple of Pull
        Full-throttle pulls, in the order of the file.
    set_aside : tuple of SetAside
        The other stretches, with the reason.
    part_throttle : tuple of Pull
        Part-throttle ramps, cut like pulls, for a tester who wants them all the same; never among `pulls`.
    """

    pulls: tuple[Pull, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
    part_throttle: tuple[Pull, ...] = ()

    @property
    def why_no_pull(self) -> str:
        """What the file holds instead of a pull, the weightiest three stretches; empty where nothing is known."""
        ranked = sorted(
            (aside for aside in self.set_aside if aside.kind in _TELLING), key=lambda aside: _TELLING.index(aside.kind)
        )
        return "; ".join(f"rows {aside.first_row} to {aside.last_row}: {aside.says}" for aside in ranked[:3])


def find_pulls(log: Log, name: str) -> Segmentation:
    """Find the full-throttle pulls of a log.

    Parameters
    ----------
    log : Log
        Channels in SI.
    name : str
        Name of the file as the session writes it; pulls are called ``name#1``, ``name#2`` where there are several.

    Returns
    -------
    Segmentation
        Pulls, what was set aside and why, and part-throttle ramps.

    Notes
    -----
    A pull is a ramp of engine speed (of road speed on rollers) over at least 12 % of the highest speed, up or down,
    at full throttle and under load. Full throttle is a throttle that reads 68 % or more, else a manifold pressure of
    85 % of ambient, else 70 % of the load that the file shows at that speed; which of them told it is a doubt of the
    pull. A ramp faster than 2,500 rpm/s without load is a free-rev. Four or more steady speeds at full throttle are
    a step test, whose means are the samples. A table of points is taken as it is.
    """
    if Channel.SPEED not in log.channels or not np.isfinite(log.channels[Channel.SPEED]).any():
        return Segmentation()
    view = view_of(log.channels, log.rows)
    found = _constant(view) or (find_in_points(view) if is_table_of_points(view) else find_in_time(view))
    pulls = [stretch for stretch in found if stretch.kind is Kind.PULL]
    part = [stretch for stretch in found if stretch.kind is Kind.PART_THROTTLE and stretch.places.size > 2]
    return Segmentation(
        pulls=_pulls(log, view, pulls, name, ""),
        set_aside=tuple(_set_aside(view, stretch) for stretch in found if stretch.kind is not Kind.PULL),
        part_throttle=_pulls(log, view, part, name, "part-throttle "),
    )


def require_pulls(segmentation: Segmentation, name: str) -> tuple[Pull, ...]:
    """Pulls of a file that has to have some.

    Raises
    ------
    FileRefusedError
        If there is none; the sentence says what there is instead.
    """
    if segmentation.pulls:
        return segmentation.pulls
    seen = segmentation.why_no_pull
    raise FileRefusedError(
        f"there is no full-throttle pull ({seen})" if seen else "there is no full-throttle pull", where=name,
        remedy="give a file in which the engine is swept over its speeds at full throttle",
    )  # fmt: skip


def _constant(view: View) -> tuple[Stretch, ...]:
    """The whole log as one plateau, where the speed does not change enough for any curve."""
    low, high = float(view.speed.min()), float(view.speed.max())
    if high - low > _CONSTANT * abs(high):
        return ()
    says = f"engine speed stays at {np.median(view.speed):.0f} rpm in all {view.speed.size} rows: that is no sweep"
    places = np.arange(view.speed.size)
    return (Stretch(places=places, kind=Kind.PLATEAU, direction=Direction.STEPS, says=says),)


def _set_aside(view: View, stretch: Stretch) -> SetAside:
    rows = view.rows[stretch.places]
    return SetAside(first_row=int(rows.min()), last_row=int(rows.max()), kind=stretch.kind, says=stretch.says)


def _pulls(log: Log, view: View, stretches: list[Stretch], name: str, prefix: str) -> tuple[Pull, ...]:
    several = len(stretches) > 1
    return tuple(
        _pull(log, view, stretch, f"{name}#{prefix}{number}" if several or prefix else name)
        for number, stretch in enumerate(stretches, 1)
    )


def _pull(log: Log, view: View, stretch: Stretch, name: str) -> Pull:
    if stretch.holds:
        holds = [Leg(first=first, last=last, rising=True, span=0.0) for first, last in stretch.holds]
        channels, rows = means_of_holds(view.channels, view.rows, holds)
    else:
        channels = {channel: values[stretch.places] for channel, values in view.channels.items()}
        rows = view.rows[stretch.places]
    return Pull(
        name=name,
        source=log.source,
        direction=stretch.direction,
        channels=channels,
        rows=rows,
        torque_kind=log.torque_kind,
        doubts=(*log.doubts, *stretch.doubts),
        fingerprint=fingerprint(channels),
        choices=log.choices,
        air=log.air,
    )


def fingerprint(channels: Mapping[Channel, FloatArray]) -> str:
    """Hash of speed and torque (or power, or load signal) to six digits, whatever the file is called.

    Returns
    -------
    str
        First 16 hexadecimal digits of SHA-256.
    """
    hashed = hashlib.sha256()
    for channel in (Channel.SPEED, Channel.TORQUE, Channel.LOAD_SIGNAL):
        values = channels.get(channel)
        if values is not None:
            hashed.update(channel.value.encode())
            hashed.update(" ".join(f"{value:.6g}" for value in values.tolist()).encode())
    return hashed.hexdigest()[:16]
