"""Kinds of work for the tests of the workers: short, long, broken and deadly."""

from __future__ import annotations

import json
import os
import re
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError, InputError
from pullbook.web.jobs_kind import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.ports import Progress

__all__ = ["KINDS", "WARM"]


def echo(progress: Progress, *, text: str, log: str = "") -> dict[str, bytes]:
    """Give a text back, and leave a line in a file for each time that it was really done."""
    progress.step("writing", 1, 2)
    if log:
        with Path(log).open("a", encoding="utf-8") as stream:
            stream.write(f"{text} {os.getpid()}\n")
    print("a library that talks")  # noqa: T201 - what it prints must not get between the frames
    return {"said.txt": text.encode()}


def steps(progress: Progress, *, count: int, pause: float, mark: str = "") -> dict[str, bytes]:
    """Many steps with a pause after each."""
    for number in range(count):
        if mark:
            Path(mark).write_text(str(os.getpid()), encoding="utf-8")
        progress.step(f"step {number}", number, count)
        time.sleep(pause)
    return {"steps.txt": str(count).encode()}


def deaf(progress: Progress, *, seconds: float, mark: str = "") -> dict[str, bytes]:
    """Work that never asks whether it may go on."""
    progress.step("beginning", 0, 1)
    progress.step("not listening", 0, 1)
    if mark:
        Path(mark).write_text(str(os.getpid()), encoding="utf-8")
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        pass
    return {}


def die(progress: Progress, *, by: int, once: str = "") -> dict[str, bytes]:
    """Die by a signal or with a status; with `once` only where that file is not there yet."""
    progress.step("about to die", 3, 7)
    if once and Path(once).exists():
        return {"alive.txt": b"yes"}
    if once:
        Path(once).touch()
    time.sleep(0.1)
    if by > 0:
        os.kill(os.getpid(), by)
        time.sleep(10)
    os._exit(-by)


def fail(progress: Progress, *, how: str, log: str = "") -> dict[str, bytes]:
    """Fail in one of the ways in which work fails."""
    echo(progress, text=how, log=log)
    if how == "input":
        raise InputError("the unit is missing", where="pull[1]", value="99.2", remedy="write '99.2 kPa'")
    if how == "machine":
        raise FailureError("the disk is full", where="out", remedy="make room")
    if how == "exit":
        raise SystemExit(3)
    raise ZeroDivisionError("by nothing")


def count(progress: Progress, *, names: Sequence[str], pause: float = 0.0) -> dict[str, bytes]:
    """One line for each name, with the process that made it."""
    lines: list[list[object]] = []
    for number, name in enumerate(names):
        progress.step(f"reading {name}", number, len(names))
        time.sleep(pause)
        lines.append([name, os.getpid()])
    return {"cards.json": json.dumps(lines).encode()}


def touch(progress: Progress, *, folder: str) -> dict[str, bytes]:
    """Change the session that is being read."""
    progress.step("reading", 0, 1)
    (Path(folder) / "session.toml").write_text("[session]\n", encoding="utf-8")
    return {"findings.json": b"{}"}


def child(progress: Progress, *, mark: str) -> dict[str, bytes]:
    """Start a process of its own and wait for it."""
    import subprocess
    import sys

    progress.step("starting", 0, 1)
    started = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    Path(mark).write_text(str(started.pid), encoding="utf-8")
    started.wait()
    return {}


def stuck(progress: Progress) -> dict[str, bytes]:
    """Work in a library that lets no other thread of the process run for hours."""
    progress.step("stuck", 0, 1)
    time.sleep(0.2)
    return {"never.txt": str(sum(range(10**13)) if _held() else 0).encode()}


def _held() -> bool:
    """Hold the lock of the interpreter: one call into C that neither returns nor lets go."""
    return bool(re.match(r"(a|a)*$", "a" * 200 + "b"))


def swell(progress: Progress, *, size: int) -> dict[str, bytes]:
    """Take much memory for a moment."""
    progress.step("taking memory", 0, 1)
    taken = bytearray(size)
    taken[::4096] = b"x" * len(taken[::4096])
    return {"process.txt": str(os.getpid()).encode()}


def big(progress: Progress, *, size: int) -> dict[str, bytes]:
    """Give a large file."""
    progress.step("writing", 0, 1)
    return {"big.bin": os.urandom(size)}


KINDS: Final[dict[str, Kind]] = {
    "echo": Kind(run=echo),
    "steps": Kind(run=steps),
    "slow": Kind(run=steps, urgent=False),
    "deaf": Kind(run=deaf),
    "die": Kind(run=die),
    "fail": Kind(run=fail),
    "count": Kind(run=count, split="names"),
    "touch": Kind(run=touch),
    "child": Kind(run=child),
    "stuck": Kind(run=stuck),
    "swell": Kind(run=swell),
    "big": Kind(run=big),
}
WARM: Final[tuple[str, ...]] = ()
