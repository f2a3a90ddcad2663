"""Tables that say how things stand now; they are worked out from the history and may be made anew at any time."""

from __future__ import annotations

from typing import Final

from sqlalchemy import ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from pullbook.remember.history import Table

__all__ = [
    "OF_SESSION", "Dimension", "Engine", "Fitted", "Gain", "Part", "Revision", "Session", "Source", "Step",
    "VerdictRow", "Word",
]  # fmt: skip

_BY_BYTES: Final = String(64).with_variant(String(64, collation="C"), "postgresql")  # so that a beginning is a range


class Engine(Table):
    """An engine by its name, whatever its case and blanks; the same one in every session."""

    __tablename__ = "engine"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(Text, unique=True)
    name: Mapped[str] = mapped_column(Text)


class Part(Table):
    """A part by its name, whatever its case and blanks; the same one on every engine."""

    __tablename__ = "part"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(Text, unique=True)
    name: Mapped[str] = mapped_column(Text)


class Session(Table):
    """A session as it stands: its latest revision, with what was corrected since."""

    __tablename__ = "session"

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    event_id: Mapped[int] = mapped_column(ForeignKey("event.id"))
    revision: Mapped[int]
    title: Mapped[str] = mapped_column(Text)
    day: Mapped[str] = mapped_column(String(10), index=True)
    engine_id: Mapped[int | None] = mapped_column(ForeignKey("engine.id"), index=True)
    displacement: Mapped[float | None]
    dyno: Mapped[str] = mapped_column(String(16))
    bench: Mapped[str] = mapped_column(Text, server_default="")
    standard: Mapped[str] = mapped_column(String(32))
    changed: Mapped[str] = mapped_column(Text)
    headline: Mapped[str] = mapped_column(Text)
    folder: Mapped[str] = mapped_column(Text, index=True)
    pulls: Mapped[int]
    excluded: Mapped[str] = mapped_column(Text)


class Revision(Table):
    """A state of the session folder that was remembered."""

    __tablename__ = "revision"
    __table_args__ = (UniqueConstraint("session_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"))
    number: Mapped[int]
    event_id: Mapped[int] = mapped_column(ForeignKey("event.id"), unique=True)
    key: Mapped[str] = mapped_column(String(64), unique=True)


class Source(Table):
    """A file of pulls that some revision of a session has, by the first digits of its hash."""

    __tablename__ = "source"
    __table_args__ = ({"sqlite_with_rowid": False},)

    start: Mapped[str] = mapped_column(String(16), primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), primary_key=True)


class Fitted(Table):
    """A part on an engine: always, or at one level of a factor."""

    __tablename__ = "fitted"

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), index=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"), index=True)
    factor: Mapped[str] = mapped_column(Text)
    level: Mapped[str] = mapped_column(Text)


class Dimension(Table):
    """A number with a unit of a level, a part or the engine, in SI; `label` holds the words to find it by."""

    __tablename__ = "dimension"
    __table_args__ = (Index(None, "kind", "value"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), index=True)
    part: Mapped[str] = mapped_column(Text)
    factor: Mapped[str] = mapped_column(Text)
    level: Mapped[str] = mapped_column(Text)
    name: Mapped[str] = mapped_column(Text)
    kind: Mapped[str] = mapped_column(String(32))
    value: Mapped[float]
    written: Mapped[str] = mapped_column(Text)
    label: Mapped[str] = mapped_column(Text)


class Step(Table):
    """By how much a dimension differs between two builds, the one with the larger first, in SI."""

    __tablename__ = "step"
    __table_args__ = (Index(None, "kind", "difference"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), index=True)
    of_build: Mapped[str] = mapped_column(Text)
    from_build: Mapped[str] = mapped_column(Text)
    factor: Mapped[str] = mapped_column(Text)
    name: Mapped[str] = mapped_column(Text)
    kind: Mapped[str] = mapped_column(String(32))
    of_value: Mapped[float]
    from_value: Mapped[float]
    difference: Mapped[float]
    alone: Mapped[bool]
    label: Mapped[str] = mapped_column(Text)


class Gain(Table):
    """Mean gain of a build over a window of speed, with its intervals: torque in N m or %, power in kW, per cent."""

    __tablename__ = "gain"

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), index=True)
    of_build: Mapped[str] = mapped_column(Text)
    from_build: Mapped[str] = mapped_column(Text)
    from_rpm: Mapped[float]
    to_rpm: Mapped[float]
    torque: Mapped[float | None]
    torque_low: Mapped[float | None]
    torque_high: Mapped[float | None]
    power: Mapped[float | None]
    power_low: Mapped[float | None]
    power_high: Mapped[float | None]
    percent: Mapped[float | None]
    percent_low: Mapped[float | None]
    percent_high: Mapped[float | None]


class VerdictRow(Table):
    """A claim and what the session says about it."""

    __tablename__ = "verdict"

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), index=True)
    claim: Mapped[str] = mapped_column(Text)
    says: Mapped[str] = mapped_column(Text)
    verdict: Mapped[str] = mapped_column(String(16))
    estimate: Mapped[float | None]
    low: Mapped[float | None]
    high: Mapped[float | None]
    unit: Mapped[str] = mapped_column(String(16))


class Word(Table):
    """A word by which a session is found, without its plural."""

    __tablename__ = "word"
    __table_args__ = ({"sqlite_with_rowid": False},)

    word: Mapped[str] = mapped_column(_BY_BYTES, primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("session.id"), primary_key=True, index=True)


OF_SESSION: Final = (Revision, Source, Fitted, Dimension, Step, Gain, VerdictRow, Word)
"""Tables with rows of a session, which go when the session is worked out anew."""
