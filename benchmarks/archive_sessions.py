"""Sessions for the benchmark of the archive: a few measured ones, each time with new noise in every pull."""

from __future__ import annotations

import hashlib
import json
import math
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.app.ports import Silent
from pullbook.app.remember_session import memory_of
from pullbook.bench.demo import demo_session
from pullbook.records.json_text import compact_json
from pullbook.remember.blobs import PackedFile, packed
from pullbook.remember.cells import cells_of, numbers_of
from pullbook.remember.columns import numbers_in, to_columns
from pullbook.remember.events import content_text
from pullbook.remember.remembering import Parcel, make_parcel
from pullbook.remember.told_channels import channels_told, tell_channels

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from pullbook.records.archived import SessionMemory
    from pullbook.remember.columns import NumberColumns

__all__ = ["POOLED", "Stock", "demo_folder", "measured"]

POOLED: Final = "runners 255 mm from 430 mm"
"""A change that only some of the sessions tested."""
_OTHER_SIZES: Final = ((b'"420 mm"', b'"430 mm"'), (b'"260 mm"', b'"255 mm"'), (b":0.42,", b":0.43,"),
                       (b":0.26,", b":0.255,"))  # fmt: skip
_BUILDS: Final = ("ABCDE", "ABCD", "AB")  # 18, 15 and 9 pulls
_WORDS: Final = ("camshaft", "primaries", "runner", "silencer", "plenum", "collector", "ignition", "piston", "valve",
                 "throttle")  # fmt: skip
_SMOOTH: Final = 9  # rows
_CURVE: Final = 12  # numbers in a row


def demo_folder(folder: Path, builds: str = "ABCDE") -> Path:
    """The demo session, with some of its builds; without engine files, which a bench has once for many sessions."""
    for name, content in demo_session().items():
        if name.startswith("engine"):
            continue
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    text = (folder / "session.toml").read_text(encoding="utf-8")
    for build in set("ABCDE") - set(builds):
        for block in ("build", "pull", "claim"):
            text = re.sub(
                rf'\[\[{block}\]\]\n(?:(?!\[\[).*\n)*?(?:name|build|of) = "{build}"\n(?:(?!\[\[).+\n)*\n?', "", text
            )
    (folder / "session.toml").write_text(text, encoding="utf-8")
    return folder


def measured(scratch: Path) -> list[SessionMemory]:
    """Sessions as they are remembered, compared for real."""
    return [memory_of(demo_folder(scratch / builds, builds), Silent()) for builds in _BUILDS]


def _other(text: str, number: int) -> str:
    """Another hash for each session."""
    return hashlib.sha256(f"{text} {number}".encode()).hexdigest()


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Sessions by their number, packed by the archive itself.

    The first `new` ones have noise of their own. The others have the packed bytes of one of them under other hashes,
    with words, engine, day and folder of their own; packing them all would take half an hour and change no figure.
    """

    templates: Sequence[SessionMemory]
    ready: list[Parcel]
    new: int

    def parcel(self, number: int, *, pooled: bool) -> Parcel:
        """Session of a number; a pooled one tested another change."""
        if number < self.new:
            if number == len(self.ready):
                self.ready.append(_noisy(self.templates[number % len(self.templates)], number))
            return self.ready[number]
        return _under_other_hashes(self.ready[number % len(self.ready)], number, pooled=pooled)


def _noisy(template: SessionMemory, number: int) -> Parcel:
    """A session whose pulls and findings have other numbers in every row."""
    rng = np.random.default_rng(number)
    files = {
        name: _noisy_file(content, rng) if name.startswith("pulls") else content + f"# {number}\n".encode()
        for name, content in template.files.items()
    }
    content = _varied(template, number)
    content["files"] = [
        {"name": name, "sha256": hashlib.sha256(one).hexdigest(), "bytes": len(one)} for name, one in files.items()
    ]
    told, rest = tell_channels(template.channels, _columns_of(template))
    if rest:
        raise SystemExit("channels of the demo are told by its files")
    memory = replace(
        template, key=_other(template.key, number), content=content, files=files,  # type: ignore[arg-type] # plain data
        channels=channels_told(told, files.__getitem__),
        findings=compact_json(_noisy_json(json.loads(template.findings), rng)),
        evidence=compact_json(_noisy_json(json.loads(template.evidence), rng)),
        scatter=_scattered(template.scatter, number),
    )  # fmt: skip
    return make_parcel(memory, lambda _: set())


def _scattered(scatter: bytes, number: int) -> bytes:
    """What another session says of the scatter."""
    values = np.frombuffer(scatter, dtype=np.uint8).copy()
    values[np.random.default_rng(number).integers(0, values.size, 8)] += np.uint8(1)
    return values.tobytes()


def _columns_of(template: SessionMemory) -> Callable[[str], NumberColumns | None]:
    def columns(name: str) -> NumberColumns | None:
        told = to_columns(template.files[name])
        return None if told is None else numbers_in(told)

    return columns


def _noisy_file(content: bytes, rng: np.random.Generator) -> bytes:
    """A pull with its columns smoothed and as much new noise as was smoothed away, written as it was."""
    told = to_columns(content)
    if told is None:
        raise SystemExit("a pull of the demo is no table")
    table = numbers_in(told)
    lines = content.split(b"\n")
    first, last = table.first_line - 1, table.first_line - 1 + table.rows
    end = b"\r" if lines[first].endswith(b"\r") else b""
    separator = table.separator.encode()
    rows = [line.removesuffix(b"\r").split(separator) for line in lines[first:last]]
    columns = [
        _noisy_column(list(cells), rng) if place else cells for place, cells in enumerate(zip(*rows, strict=True))
    ]
    lines[first:last] = [separator.join(cells) + end for cells in zip(*columns, strict=True)]
    return b"\n".join(lines)


def _noisy_column(cells: list[bytes], rng: np.random.Generator) -> list[bytes]:
    found = numbers_of(cells)
    if found is None:
        return cells
    form, values = found
    half = _SMOOTH // 2
    smooth = np.convolve(np.pad(values.astype(float), half, mode="edge"), np.full(_SMOOTH, 1.0 / _SMOOTH), "valid")
    noise = float(np.median(np.abs(values - smooth))) / 0.6745 / math.sqrt(1.0 - 1.0 / _SMOOTH)  # of a normal one
    return cells_of(form, np.rint(smooth + rng.normal(0.0, noise, values.size)).astype(np.int64))


def _noisy_json(tree: Any, rng: np.random.Generator, name: str = "") -> Any:  # noqa: ANN401 - whatever JSON holds
    """Curves as another session would show them, with as many digits."""
    if isinstance(tree, dict):
        return {key: _noisy_json(value, rng, key) for key, value in tree.items()}
    if not isinstance(tree, list) or name == "grid_rpm":
        return tree
    if len(tree) < _CURVE or not all(value is None or isinstance(value, float) for value in tree):
        return [_noisy_json(value, rng) for value in tree]
    numbers = [abs(value) for value in tree if value is not None]
    largest = max(numbers, default=0.0)
    if not largest:
        return tree
    places = 4 - math.floor(math.log10(largest))
    wave = 1.0 + 0.02 * np.sin(rng.uniform(0.0, 6.0) + np.arange(len(tree)) / rng.uniform(5.0, 30.0))
    return [
        None if value is None else round(value * factor, places) + 0.0
        for value, factor in zip(tree, wave.tolist(), strict=True)
    ]


def _varied(memory: SessionMemory, number: int) -> dict[str, Any]:
    """Words, engine, part, day and folder of another session."""
    words = f"{_WORDS[number % 10]} and {_WORDS[number // 10 % 10]} {number}"
    content: dict[str, Any] = {
        **memory.content, "title": f"Test of {words}", "folder": f"/bench/{number}",
        "date": f"20{10 + number % 16}-{1 + number % 12:02d}-{1 + number % 28:02d}",
    }  # fmt: skip
    content["engine"] = {**memory.content["engine"], "name": f"Engine {number % 40}"}
    content["parts"] = [{"name": f"spring {number % 500}", "factor": "", "level": ""}]
    return content


def _under_other_hashes(parcel: Parcel, number: int, *, pooled: bool) -> Parcel:
    """The same packed bytes as another session."""
    before = parcel.memory
    content = _varied(before, number)
    content["files"] = [{**one, "sha256": _other(one["sha256"], number)} for one in before.content["files"]]
    text = content_text(content).encode()
    ready = {"content": packed(_other_change(text) if pooled else text)}
    ready["scatter"] = packed(_scattered(before.scatter, number))
    if pooled:
        content = json.loads(_other_change(text))
        ready["evidence"] = packed(_shifted(before.evidence, number))
    files: list[PackedFile] = [*ready.values()]
    held: list[tuple[str, str, str]] = []
    by_hash = {file.sha256: file for file in parcel.files}
    for role, name, sha256 in parcel.held:
        own = ready.get(role)
        if own is None:
            own = replace(by_hash[sha256], sha256=_other(sha256, number))
            files.append(own)
        held.append((role, name, own.sha256))
    memory = replace(before, key=_other(before.key, number), content=content)  # type: ignore[arg-type] # plain data
    return Parcel(memory, files, held)


def _other_change(text: bytes) -> bytes:
    for old, new in _OTHER_SIZES:
        text = text.replace(old, new)
    return text


def _shifted(evidence: bytes, number: int) -> bytes:
    """Effects of another change, higher or lower by what engines differ."""
    told = json.loads(_other_change(evidence))
    shift = float(np.random.default_rng(number).normal(0.0, 1.0))
    for effect in told["effects"]:
        effect["gain"] = [None if gain is None else round(gain + shift, 3) for gain in effect["gain"]]
    return compact_json(told)
