"""Hashes of files as 32 bytes instead of 64 digits: they stand in four places for each file that is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import sqlalchemy as sa
from alembic import op

if TYPE_CHECKING:
    import sqlite3

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0003"
down_revision = "0002"

_TABLES: Final = ("blob", "piece", "held")
_REFERRING: Final = ("piece", "held")
_COLUMNS: Final = {"blob": "size", "piece": "id, number, content", "held": "event_id, role, name"}


def upgrade() -> None:
    """Change the tables; no hash changes, only how it is written."""
    if op.get_bind().dialect.name == "postgresql":
        _alter()
    else:
        _copy()


def _alter() -> None:
    for table in _REFERRING:
        op.drop_constraint(f"fk_{table}_sha256_blob", table, type_="foreignkey")
    for table in _TABLES:
        op.execute(f"ALTER TABLE {table} ALTER COLUMN sha256 TYPE bytea USING decode(sha256, 'hex')")
    for table in _REFERRING:
        op.create_foreign_key(f"fk_{table}_sha256_blob", table, "blob", ["sha256"], ["sha256"])


def _copy() -> None:
    """Make the tables anew: SQLite cannot change the type of a column."""
    driver: sqlite3.Connection | None = op.get_bind().connection.driver_connection
    if driver is None:
        raise TypeError
    driver.create_function("from_hex", 1, bytes.fromhex, deterministic=True)
    _make_tables()
    for table in _TABLES:
        names = _COLUMNS[table]
        op.execute(
            f"INSERT INTO {table}_new (sha256, {names}) SELECT from_hex(sha256), {names} FROM {table}"  # noqa: S608 - names of ours
        )
    for table in reversed(_TABLES):
        op.drop_table(table)
    for table in _TABLES:
        op.rename_table(f"{table}_new", table)
        for doing in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{doing} BEFORE {doing.upper()} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'the history is only ever added to'); END"
            )


def _make_tables() -> None:
    """Make empty tables that are renamed later; what refers to a table that is renamed follows."""
    op.create_table(
        "blob_new",
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_blob"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "piece_new",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["sha256"], ["blob_new.sha256"], name="fk_piece_sha256_blob"),
        sa.PrimaryKeyConstraint("id", name="pk_piece"),
        sa.UniqueConstraint("sha256", "number", name="uq_piece_sha256_number"),
    )
    op.create_table(
        "held_new",
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name="fk_held_event_id_event"),
        sa.ForeignKeyConstraint(["sha256"], ["blob_new.sha256"], name="fk_held_sha256_blob"),
        sa.PrimaryKeyConstraint("event_id", "role", "name", name="pk_held"),
        sqlite_with_rowid=False,
    )
