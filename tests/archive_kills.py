"""Kill what writes to an archive at a random moment, and see that the archive is as before or after, never between.

A child of this module does one thing (remember, migrate, back up or restore) from the same start; it is killed after a
random share of the time that it usually takes. ``python3 tasks.py kills`` does it 304 times.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from archive_cases import SIGNED, memory, silent
from archive_versions import write_as_0001
from sqlalchemy import select, text

from pullbook.remember.archive import SqlArchive
from pullbook.remember.copying import emptied
from pullbook.remember.history import Event, Held
from pullbook.remember.migrate import NEWEST, settle, version_of
from pullbook.remember.place import place_of

if TYPE_CHECKING:
    import random

__all__ = ["DOINGS", "Killed", "Starter", "kill_once", "prepare"]

DOINGS: Final = ("remember", "migrate", "backup", "restore")


@dataclass(frozen=True, slots=True, kw_only=True)
class Killed:
    """What was found after one kill.

    Attributes
    ----------
    state : str
        "before" or "after"; anything else is what was wrong.
    in_time : bool
        Whether it was still at work when it was killed.
    """

    state: str
    in_time: bool


def prepare(doing: str, address: str, folder: Path) -> None:
    """Bring an archive into the state from which something is done."""
    archive = SqlArchive(place_of(address))
    with archive._doors.writing() as connection:
        emptied(connection)
        if doing == "migrate":
            settle(connection, "old", to="0001")
            for number in (1, 2, 3):
                write_as_0001(connection, memory(number))
    if doing != "migrate":
        for number in (1, 2):
            archive.remember(memory(number), SIGNED)
    if doing == "restore":
        other = SqlArchive(place_of(str(folder / "source.sqlite")))
        for number in (5, 6, 7):
            other.remember(memory(number), SIGNED)
        other.backup(folder / "backup", silent, replace=True)
        other.close()
    archive.close()


def _do(doing: str, address: str, folder: Path) -> None:
    """What the child does."""
    archive = SqlArchive(place_of(address))
    if doing == "remember":
        archive.remember(memory(3), SIGNED)
    elif doing == "many":
        for number in range(1, 7):
            archive.remember(memory(number), SIGNED)
    elif doing == "migrate":
        with archive._writing():
            pass
    elif doing == "backup":
        archive.backup(folder / "copy", silent, replace=True)
    else:
        archive.restore(folder / "backup", silent, replace=True)
    archive.close()


class Starter:
    """A program that has loaded all that is needed, and starts copies of itself that do one thing each."""

    def __init__(self) -> None:
        path = os.pathsep.join([str(Path(__file__).parent), str(Path(__file__).parents[1] / "src")])
        environment = {**os.environ, "PYTHONPATH": path}
        self._program = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
        )
        self._usual: dict[tuple[str, str], float] = {}

    def start(self, doing: str, address: str, folder: Path) -> int:
        """Number of a process that has begun."""
        return int(self._asked("start", doing, address, str(folder)))

    def ended(self, process: int) -> int:
        """How a process ended: 0 for well, 9 for killed."""
        return int(self._asked("wait", str(process)))

    def usual(self, doing: str, address: str, folder: Path) -> float:
        """How long a thing takes where nobody kills it. [s]."""
        key = doing, address[:10]
        if key not in self._usual:
            prepare(doing, address, folder)
            begin = time.perf_counter()
            if self.ended(self.start(doing, address, folder)) != 0:
                raise RuntimeError(doing)
            self._usual[key] = time.perf_counter() - begin
        return self._usual[key]

    def close(self) -> None:
        """End it."""
        self._program.kill()
        self._program.communicate()

    def _asked(self, *words: str) -> str:
        if self._program.stdin is None or self._program.stdout is None:
            raise RuntimeError
        self._program.stdin.write("\t".join(words) + "\n")
        self._program.stdin.flush()
        return self._program.stdout.readline()


def kill_once(starter: Starter, doing: str, address: str, folder: Path, rng: random.Random) -> Killed:
    """Start something, kill it at a random moment of its work, and look at what is there."""
    usual = starter.usual(doing, address, folder)
    prepare(doing, address, folder)
    (folder / "copy").unlink(missing_ok=True)
    process = starter.start(doing, address, folder)
    time.sleep(rng.uniform(0.0, 1.0) * usual)
    with suppress(ProcessLookupError):
        os.kill(process, signal.SIGKILL)
    in_time = starter.ended(process) == signal.SIGKILL
    return Killed(state=_state(doing, address, folder), in_time=in_time)


def _state(doing: str, address: str, folder: Path) -> str:
    """Whether all is as before or as after."""
    if doing == "backup":
        copy = folder / "copy"
        return "before" if not copy.exists() else _whole(str(copy), {(1, 2): "after"})
    if doing == "migrate":
        archive = SqlArchive(place_of(address))
        with archive._doors.reading() as connection:
            version = version_of(connection)
            tables = connection.execute(select(Event.id)).all()
        archive.close()
        if version != NEWEST:
            return "before" if (version, len(tables)) == ("0001", 3) else f"version {version}, {len(tables)} events"
        return _whole(address, {(1, 2, 3): "after"})
    after = (1, 2, 3) if doing == "remember" else (5, 6, 7)
    return _whole(address, {(1, 2): "before", after: "after"})


def _whole(address: str, states: dict[tuple[int, ...], str]) -> str:
    """State of an archive that holds these sessions and is whole; what is wrong otherwise."""
    archive = SqlArchive(place_of(address))
    checked = archive.check(silent)
    with archive._reading() as connection:
        names = [row.name for row in connection.execute(select(Held.name).where(Held.role == "file"))]
        loose = connection.execute(text(
            "SELECT count(*) FROM blob WHERE NOT EXISTS (SELECT 1 FROM held WHERE held.sha256 = blob.sha256)"
        )).scalar_one()  # fmt: skip
    archive.close()
    sessions = tuple(sorted({int(name[6:-4]) // 100 for name in names if name.startswith("pulls/")}))
    if checked.damages or loose or checked.sessions != len(sessions):
        return f"{checked.damages}, {loose} files of nobody, {checked.sessions} of {len(sessions)} sessions"
    return states.get(sessions, f"sessions {sessions}")


def _main() -> None:
    """Start processes as they are asked for; threads have not been started yet, so that a copy is sound."""
    import alembic.command
    import polars as pl

    import pullbook.remember.backup

    del alembic, pl, pullbook
    for line in sys.stdin:
        what, *words = line.rstrip("\n").split("\t")
        if what == "start":
            process = os.fork()
            if process == 0:
                _do(words[0], words[1], Path(words[2]))
                os._exit(0)
            print(process, flush=True)  # noqa: T201 - to the parent
        else:
            _, status = os.waitpid(int(words[0]), 0)
            print(abs(os.waitstatus_to_exitcode(status)), flush=True)  # noqa: T201 - to the parent


if __name__ == "__main__":
    _main()
