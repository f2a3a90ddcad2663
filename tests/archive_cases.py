"""Sessions as the archive takes them, made by a formula; and archives on both databases."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

import numpy as np

from pullbook.records.archived import ChannelTable, SessionMemory, Signed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.records.archived import ArchivedDimension, ArchivedSession

__all__ = ["SIGNED", "dimension", "memory", "pull_file", "silent"]

SIGNED = Signed(who="tester", at="2026-05-04T09:12:00Z")


def silent(doing: str, done: int, total: int) -> None:
    """Nobody watches."""


def pull_file(seed: int, rows: int = 120) -> bytes:
    """A pull as a bench writes it; another one for each seed."""
    rng = np.random.default_rng(seed)
    rpm = 2000.0 + 35.0 * np.arange(rows) + rng.normal(0.0, 3.0, rows)
    torque = 180.0 - 30.0 * ((rpm - 4500.0) / 2500.0) ** 2 + rng.normal(0.0, 0.5, rows)
    lines = [f"{0.05 * n:.2f},{rpm[n]:.1f},{torque[n]:.2f}" for n in range(rows)]
    return ("Time [s],RPM,Torque [Nm]\n" + "\n".join(lines) + "\n").encode()


def dimension(name: str, value: float, *, factor: str = "", level: str = "", part: str = "") -> ArchivedDimension:
    """A length."""
    return {
        "part": part, "factor": factor, "level": level, "name": name, "kind": "length", "value": value,
        "written": f"{value * 1000:g} mm",
    }  # fmt: skip


def memory(  # noqa: PLR0913 - each test changes something else
    seed: int = 1, *, title: str = "Primaries on a small four", engine: str = "Race four", folder: str = "",
    day: str = "2026-05-04", pulls: tuple[int, ...] = (), dimensions: tuple[float, float] = (0.044, 0.047),
    part: str = "", **changes: Any,
) -> SessionMemory:  # fmt: skip
    """A session with two builds and a factor; everything in it follows from the arguments."""
    seeds = pulls or (100 * seed, 100 * seed + 1, 100 * seed + 2)
    small, big = dimensions
    toml = json.dumps({"title": title, "day": day, "engine": engine, "pulls": seeds, **changes}).encode()
    files = {"session.toml": toml, **{f"pulls/{n}.csv": pull_file(n) for n in seeds}}
    hashes = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    content: ArchivedSession = {
        "schema": "pullbook.archive/1", "program": "0.1.0", "title": title, "question": "Do bigger primaries pay?",
        "notes": "", "date": day, "dyno": "engine", "standard": "SAE J1349", "torque_kind": "measured",
        "baseline": "A", "headline": "B makes more torque than A above about 4,500 rpm.",
        "folder": folder or f"/bench/session-{seed}",
        "engine": {"name": engine, "displacement": 0.0022, "induction": "natural", "ignition": "spark", "strokes": 4},
        "factors": [{"name": "header", "levels": ["small", "big"]}],
        "builds": [
            {"name": "A", "label": "small", "baseline": True, "levels": {"header": "small"}},
            {"name": "B", "label": "big", "baseline": False, "levels": {"header": "big"}},
        ],
        "parts": [{"name": part, "factor": "header", "level": "big"}] if part else [],
        "dimensions": [
            dimension("primaries", small, factor="header", level="small"),
            dimension("primaries", big, factor="header", level="big", part=part),
        ],
        "pulls": [
            {"name": f"pulls/{n}.csv", "file": f"pulls/{n}.csv", "build": "AB"[k % 2], "fitting": k + 1,
             "time_s": 360.0 * k, "used": True, "because": ""}
            for k, n in enumerate(seeds)
        ],
        "claims": [{"id": "more", "says": "Bigger primaries are worth 3 N m at the top", "verdict": "supported",
                    "estimate": 4.1, "low": 3.2, "high": 5.0, "unit": "N m"}],
        "gains": [{"of": "B", "from": "A", "from_rpm": 4500.0, "to_rpm": 6000.0, "torque": [4.1, 3.2, 5.0],
                   "power": [2.2, 1.7, 2.7], "percent": []}],
        "files": [{"name": name, "sha256": hashes[name], "bytes": len(files[name])} for name in files],
    }  # fmt: skip
    content.update(changes)  # type: ignore[typeddict-item] # a test changes what it is about
    findings = {"schema": "pullbook.findings/1", "seed": seed, "curve": [round(0.1 * n * seed, 3) for n in range(60)]}
    return SessionMemory(
        key=hashlib.sha256("".join(sorted(hashes.values())).encode()).hexdigest(),
        content=content,
        files=files,
        findings=json.dumps(findings, separators=(",", ":")).encode(),
        channels=_channels(files),
    )


def _channels(files: Mapping[str, bytes]) -> tuple[ChannelTable, ...]:
    tables = []
    for name, content in files.items():
        if name.endswith(".csv"):
            columns = np.array([line.split(b",") for line in content.splitlines()[1:]], dtype=float).T
            channels = dict(zip(("time", "speed", "torque"), columns, strict=True))
            tables.append(ChannelTable(pull=name, channels=channels, file=name, first_line=2))
    return tuple(tables)
