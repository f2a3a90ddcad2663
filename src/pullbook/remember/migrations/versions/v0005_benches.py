"""Sessions say which bench they were measured on; those of before name none."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Add the name of the bench."""
    op.add_column("session", sa.Column("bench", sa.Text(), nullable=False, server_default=""))
