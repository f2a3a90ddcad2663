"""SessionResult: a session with its pulls, checks and findings, complete enough to be published."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.records.check import Check
    from pullbook.records.corrected import CorrectedPull
    from pullbook.records.finding import Findings
    from pullbook.records.pull import Pull
    from pullbook.records.session import Session
    from pullbook.records.taught import Taught
    from pullbook.records.window_table import WindowTable

__all__ = ["PullStatus", "SessionResult"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullStatus:
    """One entry of the run order and what became of it.

    Attributes
    ----------
    pull : Pull
        As measured.
    corrected : CorrectedPull
        As compared.
    build : str
        Name of its build.
    fitting : int
        Number of the bolt-up, from 1.
    time : float
        From the first pull of the session. [s]
    clock : str
        Time of day as declared, "09:12"; empty where none was declared.
    used : bool
        Whether it is in the findings.
    because : str
        Why it is not; empty when used.
    because_us : str
        The same in US units; empty where it is the same.
    """

    pull: Pull
    corrected: CorrectedPull
    build: str
    fitting: int
    time: float
    clock: str
    used: bool
    because: str = ""
    because_us: str = ""

    def reason(self, system: UnitSystem) -> str:
        """Why it is not used, in the units of a reader."""
        return self.because_us if system is UnitSystem.US and self.because_us else self.because


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SessionResult:
    """Everything that a page about a session needs; nothing is computed after it.

    Attributes
    ----------
    session : Session
        What was declared.
    pulls : tuple of PullStatus
        In run order.
    checks : tuple of Check
        Of every pull, then across builds.
    findings : Findings
        From the pulls that are fit.
    findings_with_all : Findings or None
        From all pulls that can be compared at all; None when none was left out.
    windows_any : tuple of WindowTable
        Mean gain over every window, one for each difference of the findings; empty where nobody asked for them.
    windows_with_all : tuple of WindowTable
        Mean torque gain over the same windows from all pulls, one for each difference that a left-out pull touches.
    taught : Taught or None
        What earlier sessions taught; None where none was asked.
    from_history : tuple of str
        What was made of it, in words; empty where none was asked.
    """

    session: Session
    pulls: tuple[PullStatus, ...]
    checks: tuple[Check, ...]
    findings: Findings
    findings_with_all: Findings | None = None
    windows_any: tuple[WindowTable, ...] = ()
    windows_with_all: tuple[WindowTable, ...] = ()
    taught: Taught | None = None
    from_history: tuple[str, ...] = ()
