"""History: events and the files they hold, which the database itself lets nobody change or take away."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0001"
down_revision = None

_ONLY_ADDED = ("event", "blob", "piece", "held")


def upgrade() -> None:
    """Make the tables, and triggers that refuse to change or delete a row of them."""
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("subject", sa.String(64), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("undoes", sa.Integer()),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.ForeignKeyConstraint(["undoes"], ["event.id"], name="fk_event_undoes_event"),
        sa.PrimaryKeyConstraint("id", name="pk_event"),
        sa.UniqueConstraint("uid", name="uq_event_uid"),
        sa.UniqueConstraint("undoes", name="uq_event_undoes"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_event_subject", "event", ["subject"])
    op.create_table(
        "blob",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_blob"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["sha256"], ["blob.sha256"], name="fk_piece_sha256_blob"),
        sa.PrimaryKeyConstraint("id", name="pk_piece"),
        sa.UniqueConstraint("sha256", "number", name="uq_piece_sha256_number"),
    )
    op.create_table(
        "held",
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name="fk_held_event_id_event"),
        sa.ForeignKeyConstraint(["sha256"], ["blob.sha256"], name="fk_held_sha256_blob"),
        sa.PrimaryKeyConstraint("event_id", "role", "name", name="pk_held"),
        sqlite_with_rowid=False,
    )
    if op.get_bind().dialect.name == "postgresql":
        _forbid_postgresql()
    else:
        _forbid_sqlite()


def _forbid_sqlite() -> None:
    for table in _ONLY_ADDED:
        for doing in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{doing} BEFORE {doing.upper()} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'the history is only ever added to'); END"
            )


def _forbid_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION only_added() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'the history is only ever added to'; END $$"
    )
    for table in _ONLY_ADDED:
        op.execute(
            f"CREATE TRIGGER {table}_only_added BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION only_added()"
        )
