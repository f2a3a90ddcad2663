"""A PostgreSQL server of our own: in a folder that is thrown away, reached by nobody else."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Server", "programs", "running_server"]

_SETTINGS: Final = (  # tests kill clients, never the machine; there is nobody else who could wait for the disk
    "listen_addresses=''", "fsync=off", "full_page_writes=off", "synchronous_commit=off", "max_connections=20",
    "shared_buffers=32MB",
)  # fmt: skip


def programs() -> Path | None:
    """Folder of the programs of the newest PostgreSQL on this machine; None where there is none."""
    found = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    if found:
        return max(found, key=lambda path: int(path.parent.name))
    there = shutil.which("initdb")
    return Path(there).parent if there else None


class Server:
    """A server that runs."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._count = 0

    def new_archive(self) -> str:
        """Address of an empty archive: a schema of its own, because a database is a thousand files."""
        import psycopg

        self._count += 1
        name = f"archive_{self._count}"
        with psycopg.connect(f"host={self._folder} user=tester dbname=postgres", autocommit=True) as connection:
            connection.execute(f"CREATE SCHEMA {name}")
        return f"postgresql+psycopg://tester@/postgres?host={self._folder}&options=-csearch_path%3D{name}"


@contextmanager
def running_server() -> Iterator[Server]:
    """Start a server, and stop it; as root, another user runs it, because it refuses to run as root."""
    where = programs()
    if where is None:
        raise FileNotFoundError("initdb")
    folder = Path(tempfile.mkdtemp(prefix="pullbook-pg-"))  # short: the name of a socket has little room
    user = None
    if os.geteuid() == 0:
        user = "postgres" if _is_user("postgres") else "nobody"
        shutil.chown(folder, user)
    else:
        folder.chmod(0o700)

    def run(*command: str) -> None:
        subprocess.run(command, check=True, user=user, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    data = str(folder / "data")
    try:
        run(str(where / "initdb"), "-D", data, "-U", "tester", "-A", "trust", "-N", "-E", "UTF8", "--locale=C.UTF-8")
        options = " ".join(f"-c {setting}" for setting in _SETTINGS)
        run(str(where / "pg_ctl"), "-D", data, "-w", "-l", str(folder / "log"), "-o", f"-k {folder} {options}", "start")
        try:
            yield Server(folder)
        finally:
            run(str(where / "pg_ctl"), "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _is_user(name: str) -> bool:
    try:
        pwd.getpwnam(name)
    except KeyError:
        return False
    return True
