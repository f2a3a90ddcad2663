"""Pool: what several sessions say together of one change; numbers in per cent of the torque without the change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import Interval

__all__ = ["Pool", "PoolCurve", "PoolLine", "PoolRow", "PoolWindow"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolRow:
    """One session of a pool.

    Attributes
    ----------
    session, revision : str, int
        Its name in the archive, and which revision.
    day, title, engine, folder : str
        As declared, or as corrected since.
    from_, to : str
        The levels between which the change was tested.
    builds : tuple of str
        Builds that the effect was worked out from.
    displacement, peak_power : float
        Of the engine and of its baseline; NaN where unknown. [m^3, W]
    recomputed_from : str
        Standard that the session was corrected to; it was compared anew. Empty where nothing had to be done.
    """

    session: str
    revision: int
    day: str
    title: str
    engine: str
    folder: str
    from_: str
    to: str
    builds: tuple[str, ...]
    displacement: float
    peak_power: float
    recomputed_from: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoolWindow:
    """Mean gain over a window of speed, pooled.

    Attributes
    ----------
    from_rpm, to_rpm : float
        The window. [rpm]
    unit : str
        ``%`` or ``N m``.
    rows : tuple of int
        Numbers of the sessions that were measured throughout it.
    effect, sd, weight : tuple of float
        Of each of them: gain, its standard deviation, its share in the mean. [unit, unit, 1]
    mean : Interval
        The pooled mean; without ends with one session. [unit]
    next_engine : tuple of (float, float) or None
        Range in which the next engine will probably lie. [unit]
    approximate : bool
        Fewer than ten sessions stand behind that range.
    between_sd, i_squared, q_p : float
        How far true effects differ, share of the scatter that this is, and probability of as much by chance. [unit, 1]
    heterogeneity : str
        In a word.
    without : tuple of Interval
        The mean without each session in turn; none below three, and beside the first window. [unit]
    """

    from_rpm: float
    to_rpm: float
    unit: str
    rows: tuple[int, ...]
    effect: tuple[float, ...]
    sd: tuple[float, ...]
    weight: tuple[float, ...]
    mean: Interval
    next_engine: tuple[float, float] | None
    approximate: bool
    between_sd: float
    i_squared: float
    q_p: float
    heterogeneity: str
    without: tuple[Interval, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoolCurve:
    """Pooled gain over speed. [%].

    Attributes
    ----------
    axis : str
        ``rpm``, or ``share`` of the speed of the torque peak.
    x : (g,) array of float
        Speeds. [rpm, or 1]
    sessions, mean, low, high, next_low, next_high : (g,) array of float
        How many were measured there, the mean, its band, and that of the next engine. [1, %]
    rows : tuple of int
        Numbers of the sessions in it.
    own : (k, g) array of float
        Gain of each of them; NaN where it was not measured. [%]
    """

    axis: str
    x: FloatArray
    sessions: FloatArray
    mean: FloatArray
    low: FloatArray
    high: FloatArray
    next_low: FloatArray
    next_high: FloatArray
    rows: tuple[int, ...]
    own: FloatArray

    def __post_init__(self) -> None:
        for name in ("x", "sessions", "mean", "low", "high", "next_low", "next_high", "own"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolLine:
    """How the effect goes with a property of the engine.

    Attributes
    ----------
    property_, unit : str
        What, and in which unit a step of it is told.
    step : float
        The step. [unit]
    slope : Interval
        Change of the effect with one such step. [%]
    explained : float
        Share of the difference between engines that goes with it; NaN where there is none. [1]
    """

    property_: str
    unit: str
    step: float
    slope: Interval
    explained: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pool:
    """Everything that is told of a change.

    Attributes
    ----------
    change : str
        The words it was asked with.
    standard, dyno : str
        What all sessions are corrected to, and where they were measured.
    rows : tuple of PoolRow
        The sessions, the earliest first.
    windows : tuple of PoolWindow
        Per cent, the whole range first; then torque where every session has it.
    curves : tuple of PoolCurve
        On rpm, and on shares of the torque peak.
    lines : tuple of PoolLine
        Moderators; none below ten sessions.
    notes : tuple of str
        What was left out or done beside, in words.
    """

    change: str
    standard: str
    dyno: str
    rows: tuple[PoolRow, ...]
    windows: tuple[PoolWindow, ...]
    curves: tuple[PoolCurve, ...]
    lines: tuple[PoolLine, ...]
    notes: tuple[str, ...]
