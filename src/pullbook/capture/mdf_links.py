"""The skeleton of an MDF 4 file, walked before a library does: every link leads to a block, and none in a circle."""

from __future__ import annotations

import struct
from typing import Final

from pullbook.errors import FileRefusedError

__all__ = ["check_links"]

_HEAD: Final = 24  # "##XX", 4 reserved bytes, length, number of links
_FIRST: Final = 64
# Links that a reader follows to build the file: next and first child, by the kind of block.
_FOLLOWED: Final = {b"HD": (0,), b"DG": (0, 1, 2), b"CG": (0, 1), b"CN": (0, 1), b"DL": (0,), b"HL": (0,)}
_MOST_BLOCKS: Final = 200_000


def check_links(data: bytes | memoryview, name: str, *, finished: bool) -> None:
    """Raise where the blocks of an MDF 4 file do not hang together.

    Parameters
    ----------
    data : bytes or memoryview
        The file.
    name : str
        Its name, for error messages.
    finished : bool
        Whether the logger closed the file; the data of an unfinished file may end early.

    Raises
    ------
    FileRefusedError
        If a link leaves the file, leads to no block, or leads back to a block on the way to it.

    Notes
    -----
    A file that was cut off, or whose links were spoilt, would otherwise send a reader past the end or round for ever.

    References
    ----------
    .. [1] ASAM MDF 4.1 base standard: block header and links of HD, DG, CG, CN, DL and HL blocks (from memory).
    """
    done: set[int] = set()
    on_the_way: set[int] = set()
    stack: list[tuple[int, bool]] = [(_FIRST, False)]
    while stack:
        address, leaving = stack.pop()
        if leaving:
            on_the_way.discard(address)
            done.add(address)
            continue
        if address in done:
            continue
        if address in on_the_way or len(done) > _MOST_BLOCKS:
            raise _damaged(name)
        on_the_way.add(address)
        stack.append((address, True))
        stack.extend((link, False) for link in _links(data, address, name, finished=finished) if link)


def _links(data: bytes | memoryview, address: int, name: str, *, finished: bool) -> list[int]:
    head = bytes(data[address : address + _HEAD]) if 0 < address < len(data) else b""
    if len(head) < _HEAD or head[:2] != b"##":
        raise _damaged(name)
    kind = head[2:4]
    length, count = struct.unpack("<QQ", head[8:24])
    if kind not in _FOLLOWED:
        if address + length > len(data) and (finished or kind not in {b"DT", b"DV", b"SD"}):
            raise _damaged(name)
        return []
    if address + _HEAD + 8 * count > len(data) or count > 10_000_000:
        raise _damaged(name)
    table = bytes(data[address + _HEAD : address + _HEAD + 8 * count])
    links = struct.unpack(f"<{count}Q", table)
    if kind == b"DL":
        return list(links)
    return [links[index] for index in _FOLLOWED[kind] if index < count]


def _damaged(name: str) -> FileRefusedError:
    return FileRefusedError(
        "the MDF file is damaged or cut off", where=name, remedy="export it again from the logger's software"
    )
