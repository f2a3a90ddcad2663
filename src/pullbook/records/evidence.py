"""Evidence: what a session leaves behind for pooling with others, and how its baseline fared against itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["AgainstItself", "EffectCurve", "Evidence"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EffectCurve:
    """Effect of one change, other factors held, with the covariance of its doubt.

    Attributes
    ----------
    factor, from_level, to_level : str
        The change; without factors the names of two builds.
    builds : tuple of str
        Builds with weight in it.
    gain : (g,) array of float
        Torque gain; NaN in a gap. [N m, or % of the baseline]
    base : (g,) array of float
        Torque that it is a gain on. [as `gain`]
    sd : (g,) array of float
        Standard deviation of the gain at each speed. [as `gain`]
    modes : (r, g) array of float
        The covariance of the gain is about the product of their transpose with them. [as `gain`]
    band_factor : float
        Half-width of its simultaneous band over its standard deviation. [1]
    """

    factor: str
    from_level: str
    to_level: str
    builds: tuple[str, ...]
    gain: FloatArray
    base: FloatArray
    sd: FloatArray
    modes: FloatArray
    band_factor: float

    def __post_init__(self) -> None:
        for name in ("gain", "base", "sd", "modes"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainstItself:
    """The baseline of some fittings compared with that of the others: the true gain is zero.

    Attributes
    ----------
    held : bool
        Whether the 95 % band over the whole curve contained zero everywhere.
    windows_held, windows : int
        How many intervals of mean gains contained zero, and of how many.
    worst : float
        Largest distance of the gain from zero over the half-width of the band. [1]
    """

    held: bool
    windows_held: int
    windows: int
    worst: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What an archive keeps of a session beside its findings.

    Attributes
    ----------
    scatter : bytes
        What the session says of the sources of scatter, packed; empty where it says nothing.
    grid_rpm : (g,) array of float
        Speeds of all curves. [rpm]
    effects : tuple of EffectCurve
        One for each two levels of each factor.
    peak_rpm : float
        Speed of the torque peak of the baseline; NaN where it was not reached. [rpm]
    peak_power : float
        Highest power of the baseline that was measured; NaN in a relative session. [W]
    itself : AgainstItself or None
        None where the baseline was fitted once, or nothing shows how far pulls scatter.
    """

    scatter: bytes
    grid_rpm: FloatArray
    effects: tuple[EffectCurve, ...]
    peak_rpm: float
    peak_power: float
    itself: AgainstItself | None

    def __post_init__(self) -> None:
        object.__setattr__(self, "grid_rpm", frozen_floats(self.grid_rpm))
