"""How things stand: tables that are worked out from the history, by which sessions are found and pooled."""

from __future__ import annotations

from typing import Any, Final

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0002"
down_revision = "0001"

_BY_BYTES: Final = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
_GAINED: Final = ("torque", "power", "percent")
_KEYED: Final = ("engine", "part")
_NUMBERED: Final[dict[str, tuple[tuple[str, Any, bool], ...]]] = {  # table -> columns: name, type, may be empty
    "revision": (("number", sa.Integer(), False), ("event_id", sa.Integer(), False), ("key", sa.String(64), False)),
    "fitted": (("part_id", sa.Integer(), False), ("factor", sa.Text(), False), ("level", sa.Text(), False)),
    "dimension": (
        ("part", sa.Text(), False), ("factor", sa.Text(), False), ("level", sa.Text(), False),
        ("name", sa.Text(), False), ("kind", sa.String(32), False), ("value", sa.Double(), False),
        ("written", sa.Text(), False), ("label", sa.Text(), False),
    ),
    "step": (
        ("of_build", sa.Text(), False), ("from_build", sa.Text(), False), ("factor", sa.Text(), False),
        ("name", sa.Text(), False), ("kind", sa.String(32), False), ("of_value", sa.Double(), False),
        ("from_value", sa.Double(), False), ("difference", sa.Double(), False), ("alone", sa.Boolean(), False),
        ("label", sa.Text(), False),
    ),
    "gain": (
        ("of_build", sa.Text(), False), ("from_build", sa.Text(), False),
        ("from_rpm", sa.Double(), False), ("to_rpm", sa.Double(), False),
        *((f"{name}{end}", sa.Double(), True) for name in _GAINED for end in ("", "_low", "_high")),
    ),
    "verdict": (
        ("claim", sa.Text(), False), ("says", sa.Text(), False), ("verdict", sa.String(16), False),
        ("estimate", sa.Double(), True), ("low", sa.Double(), True), ("high", sa.Double(), True),
        ("unit", sa.String(16), False),
    ),
}  # fmt: skip
_UNIQUE: Final = {"revision": (["event_id"], ["key"], ["session_id", "number"])}
_FURTHER: Final = {"revision": ("event_id", "event"), "fitted": ("part_id", "part")}
_INDEXED: Final = {"dimension": ["kind", "value"], "step": ["kind", "difference"], "fitted": ["part_id"]}
_BY_CONTENT: Final = {"source": ("start", sa.String(16)), "word": ("word", _BY_BYTES)}


def upgrade() -> None:
    """Make the tables; whoever asked for it fills them."""
    for table in _KEYED:
        op.create_table(
            table,
            sa.Column("id", sa.Integer(), nullable=False),
            sa.Column("key", sa.Text(), nullable=False),
            sa.Column("name", sa.Text(), nullable=False),
            sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
            sa.UniqueConstraint("key", name=f"uq_{table}_key"),
        )
    _session()
    for table, columns in _NUMBERED.items():
        _numbered(table, columns)
    for table, (name, kind) in _BY_CONTENT.items():
        op.create_table(
            table,
            sa.Column(name, kind, nullable=False),
            sa.Column("session_id", sa.Integer(), nullable=False),
            sa.ForeignKeyConstraint(["session_id"], ["session.id"], name=f"fk_{table}_session_id_session"),
            sa.PrimaryKeyConstraint(name, "session_id", name=f"pk_{table}"),
            sqlite_with_rowid=False,
        )
    op.create_index("ix_word_session_id", "word", ["session_id"])


def _session() -> None:
    texts = ("title", "changed", "headline", "folder", "excluded")
    op.create_table(
        "session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("engine_id", sa.Integer()),
        sa.Column("displacement", sa.Double()),
        sa.Column("dyno", sa.String(16), nullable=False),
        sa.Column("standard", sa.String(32), nullable=False),
        *[sa.Column(name, sa.Text(), nullable=False) for name in texts],
        sa.Column("pulls", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name="fk_session_event_id_event"),
        sa.ForeignKeyConstraint(["engine_id"], ["engine.id"], name="fk_session_engine_id_engine"),
        sa.PrimaryKeyConstraint("id", name="pk_session"),
        sa.UniqueConstraint("uid", name="uq_session_uid"),
    )
    for name in ("day", "engine_id", "folder"):
        op.create_index(f"ix_session_{name}", "session", [name])


def _numbered(table: str, columns: tuple[tuple[str, Any, bool], ...]) -> None:
    further = [_FURTHER[table]] if table in _FURTHER else []
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        *[sa.Column(name, kind, nullable=empty) for name, kind, empty in columns],
        *[
            sa.ForeignKeyConstraint([name], [f"{other}.id"], name=f"fk_{table}_{name}_{other}")
            for name, other in [("session_id", "session"), *further]
        ],
        sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
        *[sa.UniqueConstraint(*names, name=f"uq_{table}_{'_'.join(names)}") for names in _UNIQUE.get(table, ())],
    )
    if table in _INDEXED:
        op.create_index(f"ix_{table}_{'_'.join(_INDEXED[table])}", table, _INDEXED[table])
    if table not in _UNIQUE:
        op.create_index(f"ix_{table}_session_id", table, ["session_id"])
