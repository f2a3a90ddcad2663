"""Tables that are only ever added to: events, and the files that they hold.

All else in the archive is worked out from these and can be made again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from sqlalchemy import BigInteger, ForeignKey, LargeBinary, MetaData, String, Text, TypeDecorator, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

if TYPE_CHECKING:
    from sqlalchemy import Dialect

__all__ = ["HISTORY", "Blob", "Event", "Hash", "Held", "Piece", "Table"]

_NAMES: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Table(DeclarativeBase):
    """What all tables of the archive have in common: how their constraints are named."""

    metadata = MetaData(naming_convention=_NAMES)
    """All tables, and how their constraints are named."""


class Hash(TypeDecorator[str]):
    """A hash in hexadecimal, which takes half the room in the tables: they hold its bytes."""

    impl = LargeBinary
    cache_ok = True
    """A statement may be kept: nothing here differs from one column to another."""

    def process_bind_param(self, value: str | None, dialect: Dialect) -> bytes | None:  # noqa: ARG002 - as declared there
        """Bytes of a hash."""
        return None if value is None else bytes.fromhex(value)

    def process_result_value(self, value: bytes | None, dialect: Dialect) -> str | None:  # noqa: ARG002 - as above
        """Digits of a hash."""
        return None if value is None else value.hex()


class Event(Table):
    """Something that somebody did; nothing of it is ever changed.

    ``content`` is JSON; ``sha256`` is taken over all columns and over what the event holds.
    """

    __tablename__ = "event"
    __table_args__ = ({"sqlite_autoincrement": True},)

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True)
    at: Mapped[str] = mapped_column(String(32))
    who: Mapped[str] = mapped_column(Text)
    kind: Mapped[str] = mapped_column(String(16))
    subject: Mapped[str] = mapped_column(String(64), index=True)
    content: Mapped[str] = mapped_column(Text)
    undoes: Mapped[int | None] = mapped_column(ForeignKey("event.id"), unique=True)
    sha256: Mapped[str] = mapped_column(String(64))


class Blob(Table):
    """A file by the hash of its bytes; it is kept once, whoever holds it."""

    __tablename__ = "blob"
    __table_args__ = ({"sqlite_with_rowid": False},)

    sha256: Mapped[str] = mapped_column(Hash, primary_key=True)
    size: Mapped[int] = mapped_column(BigInteger)


class Piece(Table):
    """A stretch of a file, compressed; the byte at its front says how."""

    __tablename__ = "piece"
    __table_args__ = (UniqueConstraint("sha256", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sha256: Mapped[str] = mapped_column(Hash, ForeignKey("blob.sha256"))
    number: Mapped[int]
    content: Mapped[bytes] = mapped_column(LargeBinary)


class Held(Table):
    """A file that an event holds: in which role, and under which name."""

    __tablename__ = "held"
    __table_args__ = ({"sqlite_with_rowid": False},)

    event_id: Mapped[int] = mapped_column(ForeignKey("event.id"), primary_key=True)
    role: Mapped[str] = mapped_column(String(16), primary_key=True)
    name: Mapped[str] = mapped_column(Text, primary_key=True)
    sha256: Mapped[str] = mapped_column(Hash, ForeignKey("blob.sha256"))


HISTORY: Final = (Event, Blob, Piece, Held)
"""In the order in which they can be filled."""
