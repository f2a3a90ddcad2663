"""Docstrings in numpy style, read as data."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass
from typing import Final

__all__ = ["Entry", "Section", "read_sections", "without_unit"]

_UNDERLINE: Final = re.compile(r"-{3,}\s*")
_NUMBER: Final = re.compile(r"\bfloat\b|\barrays?\b")
_COUNTED: Final = re.compile(r"\barrays? of (int|bool|str|object)\b")
_UNIT: Final = re.compile(r"\[[^\[\]]+\]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of a section: names, type, description."""

    names: tuple[str, ...]
    type: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One section with its entries."""

    title: str
    entries: tuple[Entry, ...]


def read_sections(docstring: str) -> dict[str, Section]:
    """Sections of a docstring by title."""
    lines = inspect.cleandoc(docstring).splitlines()
    starts = [number for number, line in enumerate(lines[1:]) if _UNDERLINE.fullmatch(line) and lines[number].strip()]
    ends = [*starts[1:], len(lines)] if starts else []
    return {
        lines[start].strip(): Section(title=lines[start].strip(), entries=_read_entries(lines[start + 2 : end]))
        for start, end in zip(starts, ends, strict=True)
    }


def without_unit(entry: Entry) -> bool:
    """Whether an entry is about floating-point numbers and names no unit in square brackets."""
    is_number = _NUMBER.search(entry.type) is not None and _COUNTED.search(entry.type) is None
    return is_number and _UNIT.search(entry.text) is None


def _read_entries(lines: list[str]) -> tuple[Entry, ...]:
    entries: list[Entry] = []
    for line in lines:
        if line and not line.startswith(" "):
            names, colon, kind = line.partition(" : ")
            entries.append(
                Entry(
                    names=tuple(name.strip().lstrip("*") for name in names.split(",")) if colon else (),
                    type=kind if colon else line,
                    text="",
                )
            )
        elif line.strip() and entries:
            last = entries[-1]
            entries[-1] = Entry(names=last.names, type=last.type, text=f"{last.text} {line.strip()}".strip())
    return tuple(entries)
