"""Frames: how the server and its workers speak through a pipe.

A frame is two lengths, a head in JSON and a body of bytes: files, one after the other, in the order in which the head
names them. No object of Python crosses the pipe.
"""

from __future__ import annotations

import asyncio
import json
import struct
from typing import TYPE_CHECKING, Any, Final, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Head", "Source", "files_of", "packed", "read_frame", "read_frame_blocking"]

_LENGTHS: Final = struct.Struct(">IQ")
Head = dict[str, Any]  # what JSON carries


class Source(Protocol):
    """Something that gives bytes; fewer than asked for, or none, where it ends."""

    def read(self, size: int, /) -> bytes | None:
        """Give the next bytes."""
        ...


def packed(head: Mapping[str, object], files: Mapping[str, bytes] | None = None) -> bytes:
    """Bytes of a frame.

    Parameters
    ----------
    head : mapping of str to object
        Plain data.
    files : mapping of str to bytes or None
        Files to send with it.

    Examples
    --------
    >>> import io
    >>> head, body = read_frame_blocking(io.BytesIO(packed({"is": "end"}, {"a.txt": b"one"})))
    >>> head["is"], files_of(head, body)
    ('end', {'a.txt': b'one'})
    """
    body = b"".join((files or {}).values())
    names = {"files": [[name, len(data)] for name, data in files.items()]} if files is not None else {}
    text = json.dumps({**head, **names}, ensure_ascii=True).encode()
    return _LENGTHS.pack(len(text), len(body)) + text + body


def files_of(head: Head, body: bytes) -> dict[str, bytes]:
    """Files that a frame carries."""
    files: dict[str, bytes] = {}
    start = 0
    for name, length in head.get("files", ()):
        files[name] = body[start : start + length]
        start += length
    return files


async def read_frame(reader: asyncio.StreamReader) -> tuple[Head, bytes] | None:
    """Head and body of the next frame; None where the other side has gone."""
    try:
        lengths = _LENGTHS.unpack(await reader.readexactly(_LENGTHS.size))
        head = json.loads(await reader.readexactly(lengths[0]))
        return head, await reader.readexactly(lengths[1])
    except (asyncio.IncompleteReadError, ConnectionError):
        return None


def read_frame_blocking(source: Source) -> tuple[Head, bytes] | None:
    """Head and body of the next frame, waiting for it; None where the other side has gone."""
    start = _exactly(source, _LENGTHS.size)
    if start is None:
        return None
    lengths = _LENGTHS.unpack(start)
    text, body = _exactly(source, lengths[0]), _exactly(source, lengths[1])
    return None if text is None or body is None else (json.loads(text), body)


def _exactly(source: Source, size: int) -> bytes | None:
    parts: list[bytes] = []
    while size:
        part = source.read(min(size, 1 << 20))
        if not part:
            return None
        parts.append(part)
        size -= len(part)
    return b"".join(parts)
