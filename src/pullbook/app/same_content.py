"""Find the file of a session folder that holds given bytes, without reading any file twice."""

from __future__ import annotations

import hashlib
import os
import stat
from collections import OrderedDict
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["find_same"]

_PIECE: Final = 1 << 20
_MOST_KNOWN: Final = 4096
_MOST_FILES: Final = 20_000
_known: OrderedDict[tuple[str, int, int, int], str] = OrderedDict()


def find_same(folder: Path, sha256: str, size: int) -> str:
    """Name of a file with the same bytes.

    Parameters
    ----------
    folder : Path
        The session folder; hidden folders in it are left out, and no link is followed.
    sha256 : str
        Hash of the bytes, hexadecimal.
    size : int
        How many they are; only files of this length are read. [byte]

    Returns
    -------
    str
        Path relative to the folder, with forward slashes; empty where there is none.
    """
    for path, found in _files(folder):
        if found.st_size == size and _hash(path, found) == sha256:
            return path.relative_to(folder).as_posix()
    return ""


def _files(folder: Path) -> Iterator[tuple[Path, os.stat_result]]:
    seen = 0
    for parent, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            seen += 1
            if seen > _MOST_FILES:
                return
            if name.startswith("."):
                continue
            path = Path(parent, name)
            try:
                found = path.lstat()
            except OSError:  # it has gone meanwhile
                continue
            if stat.S_ISREG(found.st_mode):
                yield path, found


def _hash(path: Path, state: os.stat_result) -> str:
    """Hash of a file, from memory while the file has not changed."""
    key = (str(path), state.st_size, state.st_mtime_ns, state.st_ino)
    found = _known.get(key)
    if found is None:
        digest = hashlib.sha256()
        with path.open("rb") as stream:
            while piece := stream.read(_PIECE):
                digest.update(piece)
        found = _known[key] = digest.hexdigest()
        if len(_known) > _MOST_KNOWN:
            _known.popitem(last=False)
    return found
