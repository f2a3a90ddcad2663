"""CorrectedPull: a pull at reference air and without the torque that its own acceleration took."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats, frozen_ints
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.declaration import Standard
    from pullbook.records.pull import Pull

__all__ = ["CorrectedPull", "CorrectionStep"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionStep:
    """One value met on the way, for whoever wants to redo the sum by hand.

    Attributes
    ----------
    name : str
        As in "dry-air pressure".
    value : float
        Mean over the pull. [as `unit`]
    unit : str
        Unit of `value`.
    source : str
        Where the value or the formula comes from.
    """

    name: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CorrectedPull:
    """A pull made comparable.

    Attributes
    ----------
    pull : Pull
        As measured.
    standard : Standard
        What it is corrected to.
    speed_rpm : (n,) array of float
        Engine speed of the kept samples, in the order of the file. [rpm]
    torque : (n,) array of float
        Corrected torque [N m], or the relative signal as recorded when `torque_kind` is relative.
    factor : (n,) array of float
        What the torque of the file (plus `inertia_torque`) was multiplied with; for a file that was received
        corrected this is the factor of `standard` over the factor taken out, and 1 where it was left as it was. [1]
    inertia_torque : (n,) array of float
        What was added for acceleration, before the factor. [N m]
    rows : (n,) array of int
        Rows of the file, from 1.
    torque_kind : TorqueKind
        Whether torque is torque.
    steps : tuple of CorrectionStep
        Intermediate values in order.
    flags : tuple of str
        Sentences: outside the validity of the standard, a default assumed, and the like.
    """

    pull: Pull
    standard: Standard
    speed_rpm: FloatArray
    torque: FloatArray
    factor: FloatArray
    inertia_torque: FloatArray
    rows: IntArray
    torque_kind: TorqueKind = TorqueKind.MEASURED
    steps: tuple[CorrectionStep, ...] = ()
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("speed_rpm", "torque", "factor", "inertia_torque"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))
        object.__setattr__(self, "rows", frozen_ints(self.rows))
