"""The archive with 100,000 pulls in it: how long remembering, finding and pooling take, and what its bytes are.

``python benchmarks/archive_bench.py [--pulls 100000] [--new 300] [--archive PLACE] [--server] [--write]``. The sessions
are the demo with all and with some of its builds, with new noise in every pull (`archive_sessions`). They go through
what writes a session of a bench, some hundred in one transaction. Times are of one process that has loaded the
libraries, but for those of whole commands; time of the processor stands beside, because others may work on the
machine. ``--write`` puts the figures into ``docs/reference/archive.md``.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from archive_sessions import POOLED, Stock, demo_folder, measured

from pullbook.app.archive_question import archive_question
from pullbook.app.learn_history import _learnt
from pullbook.app.pool_sessions import PoolTerms, pool_sessions
from pullbook.app.ports import Silent
from pullbook.app.remember_session import memory_of
from pullbook.records.archived import Signed
from pullbook.remember.archive import SqlArchive
from pullbook.remember.check import _size
from pullbook.remember.migrate import settle
from pullbook.remember.place import place_of
from pullbook.remember.remembering import add_session

ROOT: Final = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from postgresql_server import running_server  # noqa: E402 - of the tests, whose folder is named above

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

PAGE: Final = ROOT / "docs" / "reference" / "archive.md"
SIGNED: Final = Signed(who="bench", at="2026-05-04T09:12:00Z")
QUESTIONS: Final = (
    "camshaft", "cam silencer", "runners 420 mm", "runners +160 mm", "header", "spring 7", "Engine 12", "nothing",
)  # fmt: skip
REPEATS: Final = 7
TOGETHER: Final = 200
"""Sessions in one transaction while the archive is filled, and sessions that are pooled."""
SHARE: Final = 0.30
"""Most room, of the raw text."""
SERVER: Final = 3.0
"""How many times as long a server may take."""

Times = list[tuple[float, float]]
Row = tuple[str, str, str, str]


@contextmanager
def timed(times: Times) -> Iterator[None]:
    """Time on the clock and on the processor, of this process. [s]."""
    clock, processor = time.perf_counter(), time.process_time()
    yield
    times.append((time.perf_counter() - clock, time.process_time() - processor))


def row_of(what: str, times: Times, limit: float = 0.0, more: float = 1.0) -> Row:
    """What was measured, its median on the clock and on the processor, and its limit; printed at once.

    Where others work on the machine, the time of the processor tells what the clock would without them; not for a
    server, whose own time is not in it, and which may take `more` times as long.
    """
    clock, processor = (statistics.median(column) for column in zip(*times, strict=True))
    alone = more == 1.0 and processor < limit
    verdict = "kept" if clock < limit * more else "kept by the processor" if alone else "NOT KEPT"
    kept = f"{limit * more:.2g} s, {verdict}" if limit else ""
    row = what, f"{clock:.3f} s", f"{processor:.3f} s", kept
    slowest = max(one for one, _ in times)
    print(f"{what}: {row[1]} (slowest {slowest:.3f} s), processor {row[2]}  {kept}", flush=True)
    return row


def fill(archive: SqlArchive, stock: Stock, pulls: int) -> tuple[int, int, dict[str, int]]:
    """Sessions and raw bytes that went in, and packed bytes by role; the last sessions are those that are pooled."""
    sessions = raw = 0
    roles: dict[str, int] = {}
    mean = sum(len(one.content["pulls"]) for one in stock.templates) / len(stock.templates)
    total = -(-pulls // round(mean))
    while sessions < total:
        with archive._doors.writing() as connection:
            settle(connection, archive.place.shown)
            for number in range(sessions, min(sessions + TOGETHER, total)):
                parcel = stock.parcel(number, pooled=number >= max(total - TOGETHER, stock.new))
                sizes = {file.sha256: sum(map(len, file.pieces)) for file in parcel.files}
                for role, _, sha256 in parcel.held:
                    roles[role] = roles.get(role, 0) + sizes[sha256]
                raw += sum(one["bytes"] for one in parcel.memory.content["files"])
                add_session(connection, parcel, SIGNED)
                sessions += 1
    return sessions, raw, roles


def room(archive: SqlArchive, raw: int, roles: dict[str, int]) -> list[Row]:
    """What the bytes of the archive are, in parts of the raw text."""
    with archive._doors.reading() as connection:
        size = _size(connection)
    parts = {**roles, "tables, indexes and unused room": size - sum(roles.values())}
    rows = [(what, f"{part / 1e6:,.0f} MB", f"{100 * part / raw:.1f} %", "") for what, part in parts.items()]
    kept = f"{100 * SHARE:.0f} %, {'kept' if size < SHARE * raw else 'NOT KEPT'}"
    rows.append(("all of it", f"{size / 1e6:,.0f} MB", f"{100 * size / raw:.1f} %", kept))
    for row in rows:
        print(": ".join(row[:2]), *row[2:], flush=True)
    return rows


def remembering(archive: SqlArchive, folder: Path, times: float) -> list[Row]:
    """Times to remember one more session whose bytes nobody has seen: in this process, and the whole command."""
    writing: Times = []
    comparing: Times = []
    commands: Times = []
    for number in range(REPEATS):
        _renew(folder, number)
        with timed(comparing):
            memory = memory_of(folder, Silent())
        with timed(writing):
            archive.remember(memory, SIGNED)
    place = str(archive.place.path or archive.place.url)
    for number in range(3):
        _renew(folder, REPEATS + number)
        commands.append(_command("remember", str(folder), "--archive", place))
    return [
        row_of("remember one more session of 18 pulls, in the archive", writing, 0.5, times),
        row_of("reading and comparing it before", comparing),
        row_of("the whole command `remember`", commands),
        row_of("the command `compare` alone", [_command("compare", str(folder)) for _ in range(3)]),
    ]


def _renew(folder: Path, number: int) -> None:
    """Another byte in every file."""
    for path in (folder / "pulls").iterdir():
        path.write_bytes(path.read_bytes() + b"\n")
    text = (folder / "session.toml").read_text(encoding="utf-8")
    (folder / "session.toml").write_text(text + f"# {number}\n", encoding="utf-8")


def _command(*words: str) -> tuple[float, float]:
    """Clock and processor of a command. [s]."""
    clock, before = time.perf_counter(), os.times()
    subprocess.run([sys.executable, "-m", "pullbook", *words], check=True, stdout=subprocess.DEVNULL)
    after = os.times()
    processor = after.children_user + after.children_system - before.children_user - before.children_system
    return time.perf_counter() - clock, processor


def repeated(doing: Callable[[], Any], count: int = REPEATS) -> Times:
    """Times of something done some times."""
    times: Times = []
    for _ in range(count):
        with timed(times):
            doing()
    return times


def measure(archive: SqlArchive, folder: Path, stock: Stock, pulls: int, times: float) -> list[Row]:
    """Fill an archive, and tell what it takes."""
    filling: Times = []
    with timed(filling):
        sessions, raw, roles = fill(archive, stock, pulls)
    print(f"{sessions:,} sessions, {raw / 1e6:,.0f} MB of raw text", flush=True)
    row_of("filling", filling)
    rows = room(archive, raw, roles)
    finds = {asked: repeated(lambda: archive.find(archive_question(asked))) for asked in QUESTIONS}  # noqa: B023 - called at once
    slowest = max(finds, key=lambda asked: statistics.median(clock for clock, _ in finds[asked]))
    rows.append(row_of(f"find {slowest!r}, the slowest of {len(QUESTIONS)} questions", finds[slowest], 0.1, times))
    found = pool_sessions(archive, POOLED, PoolTerms(), Silent())
    pooled = repeated(lambda: pool_sessions(archive, POOLED, PoolTerms(), Silent()))
    rows.append(row_of(f"pool {len(found.rows)} sessions", pooled, 1.0, times))
    learnt = [one.packed for one in archive.scatter("engine", "", ())]
    rows.append(row_of("read what all sessions say of scatter", repeated(lambda: archive.scatter("engine", "", ()), 1)))
    rows.append(row_of(f"learn from {TOGETHER} sessions, kept for the next time",
                       repeated(lambda: _learnt(learnt[:TOGETHER]), 1)))  # fmt: skip
    return [*rows, *remembering(archive, folder, times)]


def write_down(database: str, rows: list[Row]) -> None:
    """Put the figures of a database into the page about the archive."""
    lines = [f"| {database} | | | limit |", "| --- | ---: | ---: | --- |", *[f"| {' | '.join(row)} |" for row in rows]]
    marks = f"<!-- figures of {database} -->", f"<!-- end of {database} -->"
    body = "\n".join([marks[0], "", *lines, "", marks[1]])
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(re.sub(f"{marks[0]}.*{marks[1]}", lambda _: body, text, flags=re.DOTALL), encoding="utf-8")


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser()
    options.add_argument("--pulls", type=int, default=100_000)
    options.add_argument("--new", type=int, default=300, help="sessions with noise of their own")
    options.add_argument("--archive", default="")
    options.add_argument("--server", action="store_true", help="measure a PostgreSQL server of its own instead")
    options.add_argument("--write", action="store_true", help="put the figures into the page about the archive")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as scratch, ExitStack() as stack:
        os.environ["PULLBOOK_CACHE_HOME"] = scratch
        stock = Stock(templates=measured(Path(scratch)), ready=[], new=asked.new)
        folder = demo_folder(Path(scratch) / "another")
        place = asked.archive or str(Path(scratch) / "archive.sqlite")
        if asked.server:
            place = stack.enter_context(running_server()).new_archive()
        archive = SqlArchive(place_of(place))
        rows = measure(archive, folder, stock, asked.pulls, SERVER if asked.server else 1.0)
        archive.close()
    if asked.write:
        write_down("PostgreSQL" if asked.server else "SQLite", rows)


if __name__ == "__main__":
    main()
