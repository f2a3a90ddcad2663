"""Session: what the tester declared in ``session.toml``, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from pullbook.records.plan_terms import NO_TERMS

if TYPE_CHECKING:
    from datetime import date

    from pullbook.records.build import Build, Engine, Factor, Part
    from pullbook.records.declaration import Claim, ColumnRule, Limit, PullEntry, Standard
    from pullbook.records.plan_terms import PlanTerms

__all__ = [
    "Dyno",
    "Session",
]


class Dyno(StrEnum):
    """Where torque was measured."""

    ENGINE = "engine"
    CHASSIS = "chassis"


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """The pulls of one test as the tester declared them, in run order.

    Attributes
    ----------
    title, question, notes : str
        Words for the page.
    date : date or None
        The day.
    dyno : Dyno
        Crank or wheels.
    bench : str
        Name of the dynamometer, where there are several; empty where nobody said.
    standard : Standard
        What the findings are corrected to.
    inertia : float or None
        Rotating inertia on the engine side of the torque cell in a sweep. [kg m^2]
    engine : Engine
        The engine.
    factors : tuple of Factor
        What is changed.
    parts : tuple of Part
        Parts with names and dimensions of their own.
    builds : tuple of Build
        Sets of parts; exactly one is the baseline.
    pulls : tuple of PullEntry
        Run order.
    claims : tuple of Claim
        What is to be decided.
    windows : tuple of (float, float)
        Ranges to report gains over. [rpm]
    rpm_range : tuple of (float, float) or None
        Range to analyse; None for all that the pulls share. [rpm]
    limits : tuple of Limit
        Temperatures, mixture, spark, sweep rate.
    columns : tuple of ColumnRule
        Rules for all files.
    plan : PlanTerms
        What is stated for planning.
    authors : tuple of str
        Who measured.
    licence, cite : str
        Licence of the data, and how they are cited; empty where nobody said.
    """

    title: str
    question: str = ""
    notes: str = ""
    date: date | None = None
    dyno: Dyno = Dyno.ENGINE
    bench: str = ""
    standard: Standard
    inertia: float | None = None
    engine: Engine
    factors: tuple[Factor, ...] = ()
    parts: tuple[Part, ...] = ()
    builds: tuple[Build, ...]
    pulls: tuple[PullEntry, ...]
    claims: tuple[Claim, ...] = ()
    windows: tuple[tuple[float, float], ...] = ()
    rpm_range: tuple[float, float] | None = None
    limits: tuple[Limit, ...] = ()
    columns: tuple[ColumnRule, ...] = ()
    plan: PlanTerms = NO_TERMS
    authors: tuple[str, ...] = ()
    licence: str = ""
    cite: str = ""

    @property
    def baseline(self) -> Build:
        """The build that the others are compared with."""
        return next(build for build in self.builds if build.baseline)
