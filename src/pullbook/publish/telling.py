"""Telling: a result, the reader's units, and the names that things have in sentences."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.publish.figures import Measure
from pullbook.publish.palette import Style, build_style
from pullbook.quantities.showing import UnitSystem
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.records.build import Build
    from pullbook.records.finding import Difference, Findings
    from pullbook.records.result import SessionResult
    from pullbook.records.session import Session

__all__ = ["Telling"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Telling:
    """What every sentence and chart needs to know.

    Attributes
    ----------
    result : SessionResult
        What is told.
    system : UnitSystem
        Units of the reader.
    """

    result: SessionResult
    system: UnitSystem = UnitSystem.METRIC

    @property
    def findings(self) -> Findings:
        """Findings from the pulls that are fit."""
        return self.result.findings

    @property
    def session(self) -> Session:
        """What was declared."""
        return self.result.session

    @property
    def relative(self) -> bool:
        """The session has no calibrated torque and speaks in per cent."""
        return self.findings.torque_kind is TorqueKind.RELATIVE

    @property
    def torque(self) -> Measure:
        """How torque is shown."""
        return Measure.torque(self.system, relative=self.relative)

    @property
    def power(self) -> Measure:
        """How power is shown."""
        return Measure.power(self.system)

    @property
    def ends_rpm(self) -> tuple[float, float]:
        """First and last speed of the findings. [rpm]"""  # noqa: D400 - the unit comes last
        grid = self.findings.grid_rpm
        return float(grid[0]), float(grid[-1])

    def build(self, name: str) -> Build:
        """Build by its name."""
        return next(build for build in self.session.builds if build.name == name)

    def label(self, name: str) -> str:
        """Words for a build without its name: its label, or its levels joined."""
        build = self.build(name)
        return build.label or ", ".join(build.levels.values())

    def named(self, name: str) -> str:
        """Name and words of a build, as in "B (short runners)"; the bare name where the words say nothing more."""
        label = self.label(name)
        return f"{name} ({label})" if label and label != name else name

    def style(self, name: str) -> Style:
        """Colour and line style of a build."""
        others = [build.name for build in self.session.builds if not build.baseline]
        return build_style(others.index(name) if name in others else -1)

    def pair(self, difference: Difference) -> str:
        """Stable name of a difference."""
        return f"{difference.of}-{difference.from_}"
