"""How Alembic finds the archive: it is handed the connection, inside a transaction that is already open."""

from __future__ import annotations

from alembic import context

__all__: list[str] = []

if __name__ == "env_py":  # the name under which Alembic runs this file
    context.configure(connection=context.config.attributes["connection"], transactional_ddl=False)
    context.run_migrations()
