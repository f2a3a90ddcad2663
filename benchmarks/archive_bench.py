"""The archive with 100,000 pulls in it: how long remembering, finding and pooling take, and its size.

``python benchmarks/archive_bench.py [--pulls 100000] [--archive PLACE] [--server]``. The sessions are the demo over and
over, with other titles, engines, parts and dimensions, and other bytes under every hash, so that nothing is kept once
that would be kept many times on a bench. What is measured is in one process that has loaded the libraries; comparing
the session comes before and is not counted.
"""

from __future__ import annotations

import argparse
import copy
import hashlib
import json
import os
import statistics
import sys
import tempfile
import time
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from sqlalchemy import insert

from pullbook.app.archive_question import archive_question
from pullbook.app.learn_history import _learnt
from pullbook.app.pool_sessions import PoolTerms, pool_sessions
from pullbook.app.ports import Silent
from pullbook.app.remember_session import memory_of
from pullbook.bench.demo import demo_session
from pullbook.records.archived import SessionMemory, Signed
from pullbook.remember.archive import SqlArchive
from pullbook.remember.blobs import keep, packed
from pullbook.remember.drawn import draw
from pullbook.remember.events import add_event, content_text
from pullbook.remember.history import Blob, Piece
from pullbook.remember.migrate import settle
from pullbook.remember.place import place_of
from pullbook.remember.remembering import Parcel, make_parcel

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from postgresql_server import running_server

if TYPE_CHECKING:
    from collections.abc import Iterator

SIGNED = Signed(who="bench", at="2026-05-04T09:12:00Z")
WORDS = (
    "camshaft",
    "primaries",
    "runner",
    "silencer",
    "plenum",
    "collector",
    "ignition",
    "piston",
    "valve",
    "throttle",
)
QUESTIONS = ("camshaft", "cam silencer", "runner 160 mm longer", "header", "primaries 44 mm", "spring 7", "nothing")
REPEATS = 7


def demo_memory(folder: Path) -> SessionMemory:
    """The demo session as it is remembered; without engine files, which a bench has once for many sessions."""
    for name, content in demo_session().items():
        if name.startswith("engine"):
            continue
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return memory_of(folder, Silent())


def varied(memory: SessionMemory, number: int) -> dict[str, Any]:
    """Content of another session."""
    words = f"{WORDS[number % 10]} and {WORDS[number // 10 % 10]} {number}"
    content: dict[str, Any] = {
        **memory.content, "title": f"Test of {words}", "folder": f"/bench/{number}",
        "date": f"20{10 + number % 16}-{1 + number % 12:02d}-{1 + number % 28:02d}",
    }  # fmt: skip
    content["engine"] = {**memory.content["engine"], "name": f"Engine {number % 40}"}
    content["parts"] = [{"name": f"spring {number % 500}", "factor": "", "level": ""}]
    return content


def other(text: str, number: int) -> str:
    """Another hash for each session."""
    return hashlib.sha256(f"{text} {number}".encode()).hexdigest()


def fill(archive: SqlArchive, memory: SessionMemory, parcel: Parcel, sessions: range) -> None:
    """Many sessions in one transaction."""
    with archive._doors.writing() as connection:
        settle(connection, archive.place.shown)
        own_content = next(sha256 for role, _, sha256 in parcel.held if role == "content")
        filed = [file for file in parcel.files if file.sha256 != own_content]
        for number in sessions:
            blobs = [{"sha256": other(file.sha256, number), "size": file.size} for file in filed]
            pieces = [
                {"sha256": other(file.sha256, number), "number": place, "content": content}
                for file in filed
                for place, content in enumerate(file.pieces)
            ]
            connection.execute(insert(Blob), blobs)
            connection.execute(insert(Piece), pieces)
            content = varied(memory, number)
            content["files"] = [{**one, "sha256": other(one["sha256"], number)} for one in memory.content["files"]]
            uid = other(memory.key, number)[:12]
            own = packed(content_text(content).encode())
            keep(connection, [own])
            held = [(role, name, other(sha256, number)) for role, name, sha256 in parcel.held if role != "content"]
            held.append(("content", "content.json", own.sha256))
            told = {"key": other(memory.key, number), "title": content["title"], "program": content["program"]}
            add_event(connection, SIGNED, "remember", uid, told, held=held)
            draw(connection, uid)


def size_of(archive: SqlArchive) -> int:
    """What the archive takes. [byte]."""
    from pullbook.remember.check import _size

    with archive._doors.reading() as connection:
        return _size(connection)


@contextmanager
def timed(times: list[tuple[float, float]]) -> Iterator[None]:
    """Time on the clock and on the processor, of this process. [s]."""
    clock, processor = time.perf_counter(), time.process_time()
    yield
    times.append((time.perf_counter() - clock, time.process_time() - processor))


def told(what: str, times: list[tuple[float, float]], limit: float) -> None:
    """Print a median beside its limit."""
    clock, processor = (statistics.median(column) for column in zip(*times, strict=True))
    slowest = max(one for one, _ in times)
    print(
        f"{what}: {1000 * clock:.0f} ms, slowest {1000 * slowest:.0f} ms, {1000 * processor:.0f} ms of processor; "
        f"limit {1000 * limit:.0f} ms  {'kept' if clock < limit else 'NOT KEPT'}", flush=True,
    )  # fmt: skip


def remembering(archive: SqlArchive, folder: Path, repeats: int) -> list[tuple[float, float]]:
    """Times to remember one more session whose bytes nobody has seen."""
    times: list[tuple[float, float]] = []
    for number in range(repeats):
        for path in (folder / "pulls").iterdir():
            path.write_bytes(path.read_bytes() + b"\n")
        text = (folder / "session.toml").read_text(encoding="utf-8")
        (folder / "session.toml").write_text(text + f"# {number}\n", encoding="utf-8")
        memory = memory_of(folder, Silent())
        memory.content["folder"] = f"/new/{number}"
        with timed(times):
            archive.remember(memory, SIGNED)
    return times


def finding(archive: SqlArchive) -> dict[str, list[tuple[float, float]]]:
    """Times to find, by question."""
    times: dict[str, list[tuple[float, float]]] = {question: [] for question in QUESTIONS}
    for _ in range(REPEATS):
        for question in QUESTIONS:
            with timed(times[question]):
                archive.find(archive_question(question))
    return times


def pooling(archive: SqlArchive, memory: SessionMemory, sessions: int) -> tuple[list[float], list[float]]:
    """Times to pool a change over some sessions, and to learn from as many; the first learning, then the kept. [s]."""
    evidence = json.loads(memory.evidence)
    rng = np.random.default_rng(1)
    for number in range(sessions):
        told = copy.deepcopy(evidence)
        for effect in told["effects"]:
            shift = float(rng.normal(0.0, 1.0))
            effect["gain"] = [None if gain is None else round(gain + shift, 3) for gain in effect["gain"]]
        content: dict[str, Any] = {**varied(memory, number), "title": f"Pooled {number}"}
        content["files"] = [{**one, "sha256": other(one["sha256"], -1 - number)} for one in memory.content["files"]]
        scatter = np.frombuffer(memory.scatter, dtype=np.uint8).astype(np.int64) + rng.integers(0, 3, 1)
        kept = replace(
            memory, key=other(memory.key, -1 - number), content=content, files={}, channels=(),  # type: ignore[arg-type] # plain data
            evidence=json.dumps(told).encode(), scatter=np.clip(scatter, 0, 255).astype(np.uint8).tobytes(),
        )  # fmt: skip
        archive.remember(kept, SIGNED)
    pooled, learnt = [], []
    for _ in range(REPEATS):
        start = time.perf_counter()
        found = pool_sessions(archive, "runners 260 mm from 420 mm", PoolTerms(), Silent())
        pooled.append(time.perf_counter() - start)
    if len(found.rows) < sessions:
        raise SystemExit(f"only {len(found.rows)} sessions were pooled")
    for _ in range(2):
        start = time.perf_counter()
        _learnt([one.packed for one in archive.scatter("engine", ())])
        learnt.append(time.perf_counter() - start)
    return pooled, learnt


def measure(
    archive: SqlArchive, folder: Path, memory: SessionMemory, parcel: Parcel, pulls: int, *, times: float = 1.0
) -> None:
    """Fill an archive, and print what it takes."""
    sessions = -(-pulls // len(memory.content["pulls"]))
    fill(archive, memory, parcel, range(1))
    first = size_of(archive)
    start = time.perf_counter()
    fill(archive, memory, parcel, range(1, sessions))
    filling = time.perf_counter() - start
    raw = sum(one["bytes"] for one in memory.content["files"])
    share = (size_of(archive) - first) / ((sessions - 1) * raw)
    print(f"{sessions:,} sessions, {sessions * len(memory.content['pulls']):,} pulls, filled in {filling:.0f} s")
    print(f"size: {size_of(archive) / 1e6:,.0f} MB, {100 * share:.1f} % of the raw text; limit 30 %")
    for question, taken in finding(archive).items():
        told(f"find {question!r}", taken, 0.1 * times)
    told("remember one more session of 18 pulls", remembering(archive, folder, 5), 0.5 * times)
    archive.close()


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser()
    options.add_argument("--pulls", type=int, default=100_000)
    options.add_argument("--archive", default="")
    options.add_argument("--server", action="store_true", help="measure a PostgreSQL server of its own too")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "demo"
        memory = demo_memory(folder)
        parcel = make_parcel(memory, lambda _: set())
        packing: list[tuple[float, float]] = []
        with timed(packing):
            make_parcel(memory, lambda _: set())
        print(f"packing the demo: {1000 * packing[0][0]:.0f} ms, {1000 * packing[0][1]:.0f} ms of processor")
        place = asked.archive or str(Path(scratch) / "archive.sqlite")
        measure(SqlArchive(place_of(place)), folder, memory, parcel, asked.pulls)
        if asked.server:
            with running_server() as server:
                print("PostgreSQL, limits three times as long:")
                measure(SqlArchive(place_of(server.new_archive())), folder, memory, parcel, asked.pulls, times=3.0)
        apart = SqlArchive(place_of(str(Path(scratch) / "pooled.sqlite")))
        os.environ["PULLBOOK_CACHE_HOME"] = scratch
        pooled, learnt = pooling(apart, memory, 200)
        print(f"pool 200 sessions: {statistics.median(pooled):.2f} s, slowest {max(pooled):.2f} s")
        print(f"learn from 200 sessions: {learnt[0]:.2f} s, again {learnt[1]:.2f} s")
        apart.close()


if __name__ == "__main__":
    main()
