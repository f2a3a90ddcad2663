"""Cache: results kept by the name of their content, in a bounded folder that may be deleted at any time.

One entry is a folder of gzip files and a list of them with their hashes, so that what a full disk, a power cut or
somebody's hand damaged is noticed and made again. Several processes may write and read at once.
"""

from __future__ import annotations

import errno
import gzip
import hashlib
import json
import os
import re
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app.user_folders import cache_folder

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

__all__ = ["Cache"]

_KEY: Final = re.compile(r"[0-9a-f]{16,128}")
_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,119}")
_LIST: Final = "content.json"
_SCRATCH: Final = ".new-"
_LIMIT: Final = 500_000_000
_LEAVE: Final = 0.8  # share of the limit that is left when room is made, so that it is not made again at once
_UNWEIGHED: Final = 0.05  # share of the limit that may be put before all entries are looked at again
_BLOCK: Final = 4096  # byte that the smallest file takes on a disk
_STALE: Final = 3600.0  # s; no entry takes that long to write, so its writer is dead
_LEVEL: Final = 9


class Cache:
    """Results by key.

    Parameters
    ----------
    folder : Path or None
        Where they are kept; None for the user's cache.
    limit : int
        Bytes that all results together may take; those that nobody has asked for longest go first. [byte]
    """

    def __init__(self, folder: Path | None = None, *, limit: int = _LIMIT) -> None:
        self.folder = folder or cache_folder() / "results"
        self.limit = limit
        self._unweighed = limit  # bytes put since the last look at all entries, of which the first put makes one

    def has(self, key: str) -> bool:
        """Whether a whole result is kept; asking counts as a use. Only sizes are looked at."""
        entry = self._entry(key)
        listed = _listed(entry)
        if listed is None:
            return False
        try:
            whole = all((entry / f"{name}.gz").stat().st_size == size for name, (size, _) in listed.items())
        except OSError:
            whole = False
        if not whole:
            self.drop(key)
            return False
        _use(entry)
        return True

    def names(self, key: str) -> tuple[str, ...]:
        """Names of the files of a result; none where it is not kept."""
        return tuple(_listed(self._entry(key)) or ())

    def read(self, key: str, name: str) -> bytes | None:
        """One file of a result; None where it is not kept or was damaged, and then the result is dropped."""
        packed = self.read_packed(key, name)
        return None if packed is None else gzip.decompress(packed)

    def read_packed(self, key: str, name: str) -> bytes | None:
        """One file of a result as gzip, as it may be sent to a browser; None as in `read`."""
        entry = self._entry(key)
        known = (_listed(entry) or {}).get(name)
        if known is None:
            return None
        try:
            packed = (entry / f"{name}.gz").read_bytes()
        except OSError:
            packed = b""
        if (len(packed), hashlib.sha256(packed).hexdigest()) != known:
            self.drop(key)
            return None
        _use(entry)
        return packed

    def get(self, key: str) -> dict[str, bytes] | None:
        """All files of a result; None as in `read`."""
        files = {name: self.read(key, name) for name in self.names(key)}
        if not files and not self.has(key):
            return None
        whole = {name: data for name, data in files.items() if data is not None}
        return whole if len(whole) == len(files) else None

    def put(self, key: str, files: Mapping[str, bytes]) -> None:
        """Keep a result, whole or not at all, and make room where the limit is passed.

        Parameters
        ----------
        key : str
            Its name, hexadecimal.
        files : mapping of str to bytes
            Plain names (letters, digits, dots, dashes) and contents.

        Raises
        ------
        OSError
            If the disk is full, the folder cannot be written to, or the result is larger than what may be kept; nothing
            is left behind.
        ValueError
            If the key or a name is of another form.
        """
        entry = self._entry(key)
        for name in files:
            if not _NAME.fullmatch(name) or name == _LIST:
                raise ValueError(f"no name of a kept file: {name!r}")
        self.folder.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=_SCRATCH, dir=self.folder))
        try:
            _fill(scratch, files)
            size = _size(scratch)
            if size > self.limit * _LEAVE:
                raise OSError(errno.EFBIG, "the result is larger than all that may be kept", str(self.folder))
            self._place(scratch, entry)
        finally:
            shutil.rmtree(scratch, ignore_errors=True)
        self._unweighed += size
        if self._unweighed > self.limit * _UNWEIGHED:
            self._unweighed = 0
            self.make_room()

    def drop(self, key: str) -> None:
        """Forget a result."""
        entry = self._entry(key)
        with suppress(OSError):
            (entry / _LIST).unlink()  # first, so that a half deleted entry is none
        shutil.rmtree(entry, ignore_errors=True)

    def make_room(self) -> None:
        """Delete what was used longest ago until the limit is kept, and what dead writers left behind."""
        entries = sorted(self._used())
        total = sum(size for _, size, _ in entries)
        if total > self.limit:
            for _, size, path in entries:
                self.drop(path.name)
                total -= size
                if total <= self.limit * _LEAVE:
                    break
        self._sweep()

    def _entry(self, key: str) -> Path:
        if not _KEY.fullmatch(key):
            raise ValueError(f"no key of a result: {key!r}")
        return self.folder / key

    def _place(self, scratch: Path, entry: Path) -> None:
        """Rename a whole entry into its place; one that is there and whole is the same and stays."""
        try:
            scratch.rename(entry)
        except OSError:
            if self.has(entry.name):
                return
            self.drop(entry.name)
            scratch.rename(entry)

    def _used(self) -> Iterator[tuple[float, int, Path]]:
        """Last use, bytes and folder of each entry."""
        with suppress(OSError):
            for path in self.folder.iterdir():
                with suppress(OSError):
                    if _KEY.fullmatch(path.name):
                        used = (path / _LIST).stat() if (path / _LIST).exists() else path.stat()
                        yield used.st_mtime, _size(path), path

    def _sweep(self) -> None:
        with suppress(OSError):
            with tempfile.NamedTemporaryFile(prefix=_SCRATCH, dir=self.folder) as clock:
                now = Path(clock.name).stat().st_mtime
            for path in self.folder.glob(f"{_SCRATCH}*"):
                with suppress(OSError):
                    if path.stat().st_mtime < now - _STALE:
                        shutil.rmtree(path) if path.is_dir() else path.unlink()


def _size(folder: Path) -> int:
    """Bytes that an entry takes on the disk."""
    return sum(-(-part.stat().st_size // _BLOCK) * _BLOCK for part in folder.iterdir())


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    listed: dict[str, tuple[int, str]] = {}
    for name, content in files.items():
        packed = gzip.compress(content, _LEVEL, mtime=0)
        (folder / f"{name}.gz").write_bytes(packed)
        listed[name] = (len(packed), hashlib.sha256(packed).hexdigest())
    (folder / _LIST).write_text(json.dumps(listed), encoding="utf-8")


def _listed(entry: Path) -> dict[str, tuple[int, str]] | None:
    """Files of an entry with size and hash; None where there is no entry, or its list is damaged."""
    try:
        listed = json.loads((entry / _LIST).read_bytes())
        return {str(name): (int(size), str(digest)) for name, (size, digest) in listed.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return None


def _use(entry: Path) -> None:
    with suppress(OSError):
        os.utime(entry / _LIST)
