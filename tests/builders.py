"""Records made by hand for tests: `make_pull`, `make_session`, `make_findings`, `make_result`.

Every maker gives something plausible and takes the fields that the test cares about as keywords.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from builders_findings import (
    GRID_RPM,
    WINDOWS,
    make_bandless_findings,
    make_findings,
    make_relative_findings,
    torque_of,
)

from pullbook.quantities.channels import Channel
from pullbook.records.build import Build, Engine, Factor
from pullbook.records.check import Check, Level
from pullbook.records.corrected import CorrectedPull, CorrectionStep
from pullbook.records.declaration import Air, Claim, Limit, PullEntry, Quantity, Standard
from pullbook.records.pull import ColumnChoice, Direction, Pull, TorqueKind
from pullbook.records.result import PullStatus, SessionResult
from pullbook.records.session import Session
from pullbook.records.table import SourceFile

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "AIR",
    "GRID_RPM",
    "WINDOWS",
    "make_bandless_findings",
    "make_corrected",
    "make_findings",
    "make_pull",
    "make_relative_findings",
    "make_result",
    "make_session",
    "make_source",
    "torque_of",
]

AIR = Air(temperature=297.25, pressure=99_200.0, humidity=0.46)
ORDER = (("A", "a1"), ("A", "a2"), ("B", "b1"), ("B", "b2"), ("B", "b3"), ("B", "b4"), ("C", "c1"), ("C", "c2"),
         ("C", "c3"), ("D", "d1"), ("D", "d2"), ("D", "d3"), ("A", "a3"))  # fmt: skip
SPOILT = "pulls/b3.csv"
CHOICES = (
    ColumnChoice(channel=Channel.SPEED, column="Engine speed", unit="rpm", reason="its name and unit say so"),
    ColumnChoice(channel=Channel.TORQUE, column="Torque", unit="N m", reason="its name and unit say so"),
)


def make_source(name: str = "pulls/a1.csv", **changes: Any) -> SourceFile:
    """Source file whose hash is that of its name."""
    source = SourceFile(
        name=name, sha256=hashlib.sha256(name.encode()).hexdigest(), size=18_432,
        layout="text, ',' between columns, decimal point, header in row 1",
    )  # fmt: skip
    return replace(source, **changes)


def make_pull(
    name: str = "pulls/a1.csv",
    *,
    build: str = "A",
    speed_rpm: FloatArray | None = None,
    sweep_rate: float = 300.0,
    channels: dict[Channel, FloatArray] | None = None,
    **changes: Any,
) -> Pull:
    """Up-sweep of 300 rpm/s, 50 samples a second, with the torque of `build`; `channels` adds or replaces."""
    speed = np.arange(1950.0, 6551.0, sweep_rate / 50.0) if speed_rpm is None else np.asarray(speed_rpm, dtype=float)
    torque = torque_of(build, speed)
    values = {
        Channel.TIME: (speed - speed[0]) / sweep_rate,
        Channel.SPEED: speed,
        Channel.TORQUE: torque,
        Channel.POWER: torque * speed * np.pi / 30.0,
        **(channels or {}),
    }
    source = make_source(name.split("#", maxsplit=1)[0])
    pull = Pull(
        name=name, source=source, direction=Direction.UP, channels=values,
        rows=np.arange(2, speed.size + 2), fingerprint=source.sha256[:16], choices=CHOICES,
    )  # fmt: skip
    return replace(pull, **changes)


def make_corrected(pull: Pull | None = None, *, factor: float = 1.0176, **changes: Any) -> CorrectedPull:
    """The pull times a constant factor."""
    pull = pull or make_pull()
    channel = Channel.TORQUE if pull.torque_kind is TorqueKind.MEASURED else Channel.LOAD_SIGNAL
    speed = pull.channels[Channel.SPEED]
    corrected = CorrectedPull(
        pull=pull, standard=Standard.SAE_J1349, speed_rpm=speed, torque=pull.channels[channel] * factor,
        factor=np.full(speed.shape, factor), inertia_torque=np.zeros(speed.shape), rows=pull.rows,
        torque_kind=pull.torque_kind,
        steps=(
            CorrectionStep(name="dry-air pressure", value=97_820.0, unit="Pa", source="pressure less vapour pressure"),
            CorrectionStep(name="correction factor", value=factor, unit="1", source="SAE J1349, from memory"),
        ),
    )  # fmt: skip
    return replace(corrected, **changes)


def _entries(names: str) -> tuple[PullEntry, ...]:
    start = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)
    return tuple(
        PullEntry(build=build, file=f"pulls/{stem}.csv", time=start + timedelta(minutes=7 * number), air=AIR)
        for number, (build, stem) in enumerate(ORDER)
        if build in names
    )


def _claims() -> tuple[Claim, ...]:
    return (
        Claim(
            id="short-runners-top", says="Short runners are worth at least 8 kW at the top", of="B", from_="A",
            quantity=Quantity.POWER, where=None, at_least=8000.0,
        ),
        Claim(
            id="header-peak-torque", says="The 4-2-1 header adds at least 8 N m to peak torque", of="C", from_="A",
            quantity=Quantity.TORQUE, where=None, at_least=8.0,
        ),
        Claim(
            id="short-runners-middle", says="Short runners gain at least half a newton metre in the middle", of="B",
            from_="A", quantity=Quantity.TORQUE, where=(3500.0, 5000.0), at_least=0.5,
        ),
    )  # fmt: skip


def make_session(*, names: str = "ABCD", **changes: Any) -> Session:
    """Session of the builds named by one letter each, with its run order and three claims."""
    levels = {"A": ("340 mm", "4-1"), "B": ("260 mm", "4-1"), "C": ("340 mm", "4-2-1"), "D": ("260 mm", "4-2-1")}
    labels = {"A": "long runners", "B": "short runners", "C": "", "D": "short runners, 4-2-1"}
    session = Session(
        title="Runner length and header on a 2.2 litre four", question="Do short runners pay at the top?",
        notes="Invented for tests.", date=date(2026, 5, 4), standard=Standard.SAE_J1349, inertia=0.21,
        engine=Engine(name="2.2 litre four", displacement=0.0022),
        factors=(
            Factor(name="runners", levels=("340 mm", "260 mm"), change=3000.0),
            Factor(name="header", levels=("4-1", "4-2-1"), change=5400.0),
        ),
        builds=tuple(
            Build(
                name=name, label=labels[name], baseline=name == "A",
                levels=dict(zip(("runners", "header"), levels[name], strict=True)),
            ) for name in names
        ),
        pulls=_entries(names), claims=_claims(), windows=WINDOWS,
        limits=(Limit(channel=Channel.OIL_TEMPERATURE, low=353.15, high=383.15),),
    )  # fmt: skip
    return replace(session, **changes)


def _statuses(session: Session) -> tuple[PullStatus, ...]:
    statuses, fitting, before = [], 0, ""
    times = [entry.time for entry in session.pulls if entry.time is not None]
    for entry in session.pulls:
        fitting += entry.build != before
        before = entry.build
        pull = make_pull(entry.file, build=entry.build)
        spoilt = entry.file == SPOILT
        statuses.append(
            PullStatus(
                pull=pull, corrected=make_corrected(pull), build=entry.build, fitting=fitting, used=not spoilt,
                time=(entry.time - times[0]).total_seconds() if entry.time else 0.0,
                clock=f"{entry.time:%H:%M}" if entry.time else "", because="torque jumps at 4180 rpm" if spoilt else "",
            )
        )  # fmt: skip
    return tuple(statuses)


def _checks(session: Session) -> tuple[Check, ...]:
    fine = [
        Check(pull=entry.file, check="power_identity", level=Level.OK, says="Power is torque times speed to 0.1 %.")
        for entry in session.pulls
    ]
    spoilt = Check(
        pull=SPOILT, check="glitch", level=Level.UNFIT, says="Torque jumps by 41 N m in one sample at 4180 rpm.",
        remedy="look at the load-cell cable and repeat the pull", rpm_low=4150.0, rpm_high=4210.0,
    )  # fmt: skip
    return (
        *fine,
        *([spoilt] if any(entry.file == SPOILT for entry in session.pulls) else []),
        Check(
            pull="", check="balance_oil_temperature", level=Level.LOOK,
            says="The oil was 6 K warmer in the pulls of B than in those of A.",
            remedy="wait until the oil is within 3 K", could_explain=0.3,
        ),
    )  # fmt: skip


def make_result(*, names: str = "ABCD", **changes: Any) -> SessionResult:
    """Session with its pulls (one of build B left out), checks and findings with and without that pull."""
    session = make_session(names=names)
    findings = make_findings(names=names)
    result = SessionResult(
        session=session, pulls=_statuses(session), checks=_checks(session), findings=findings,
        findings_with_all=replace(findings, seed=20260505) if "B" in names else None,
    )  # fmt: skip
    return replace(result, **changes)
