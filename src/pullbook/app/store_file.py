"""A file that comes in piece by piece is stored in the ``pulls`` folder: whole, once, under a name of our own."""

from __future__ import annotations

import errno
import hashlib
import os
import threading
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import MAX_BYTES, inside
from pullbook.app.same_content import find_same
from pullbook.app.stored_name import free_name, safe_name
from pullbook.app.upload_scratch import SCRATCH, free_bytes, move_to, new_scratch
from pullbook.app.whole_file import note_on_disk
from pullbook.errors import FailureError, FileRefusedError, SessionFileError

if TYPE_CHECKING:
    from pathlib import Path
    from types import TracebackType
    from typing import BinaryIO, Self

__all__ = ["StoredFile", "Upload"]

_PULLS: Final = "pulls"
_SHOWN: Final = 80
_ROOM: Final = 10_000_000  # bytes of the disk that are left to everything else
_FULL: Final = frozenset({errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG})
_naming: Final = threading.Lock()  # one file after the other looks for its name


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFile:
    """Where the content of an offered file is now.

    Attributes
    ----------
    name : str
        Path as the session names it, as in "pulls/a1.csv".
    offered : str
        Name that was offered, without its folder.
    size : int
        Length. [byte]
    sha256 : str
        Hash of the bytes, hexadecimal.
    already : bool
        A file with these very bytes was there before, and nothing was stored.
    """

    name: str
    offered: str
    size: int
    sha256: str
    already: bool = False

    @property
    def says(self) -> str:
        """What happened, as a sentence without full stop."""
        if self.already:
            return f"'{self.offered}' is the same file as {self.name}, byte for byte; it was not stored again"
        return f"'{self.offered}' is stored as {self.name}"

    def as_json(self) -> dict[str, object]:
        """Plain data."""
        return {
            "name": self.name, "offered": self.offered, "size": self.size, "sha256": self.sha256,
            "already": self.already, "says": self.says,
        }  # fmt: skip


class Upload:
    """A file on its way into a session folder.

    Nothing stands in ``pulls`` before `finish`; after `abort`, or where anything fails, nothing is left behind. Used in
    a ``with`` statement it is aborted unless it was finished.

    Parameters
    ----------
    folder : Path
        The session folder.
    offered : str
        Name that the sender gives it; it never becomes a path.
    limit : int
        Largest length that is taken. [byte]
    expected : int or None
        Length that the sender announces. [byte]

    Raises
    ------
    SessionFileError
        If the session folder is not there.
    FileRefusedError
        If more is announced than is taken.
    FailureError
        If the disk is full or the folder cannot be written to.
    """

    def __init__(self, folder: Path, offered: str, *, limit: int = MAX_BYTES, expected: int | None = None) -> None:
        self.offered = _shown(offered)
        self.size = 0
        self._folder = folder
        self._name = safe_name(offered)
        self._limit = min(limit, MAX_BYTES)
        self._expected = expected
        self._hash = hashlib.sha256()
        self._stream: BinaryIO | None = None
        if not folder.is_dir():
            raise SessionFileError("the session folder is gone", where=folder.name, remedy="put it back, or reload")
        self._refuse_beyond(expected or 0)
        try:
            self._begin()
        except OSError as error:
            self.abort()
            raise self._failed(error) from error

    @classmethod
    def open(cls, folder: Path, offered: str, *, limit: int = MAX_BYTES, expected: int | None = None) -> Self:
        """Begin to store a file; the parameters are those of the class."""
        return cls(folder, offered, limit=limit, expected=expected)

    def write(self, chunk: bytes) -> None:
        """Take the next piece.

        Raises
        ------
        FileRefusedError
            If the file is longer than the limit; nothing is left behind.
        FailureError
            If the disk is full; nothing is left behind.
        """
        if self._stream is None:
            msg = "the upload is over"
            raise ValueError(msg)
        try:
            self._refuse_beyond(self.size + len(chunk))
            self._stream.write(chunk)
        except OSError as error:
            self.abort()
            raise self._failed(error) from error
        except FileRefusedError:
            self.abort()
            raise
        self._hash.update(chunk)
        self.size += len(chunk)

    def finish(self) -> StoredFile:
        """Put the file in its place.

        Returns
        -------
        StoredFile
            Its name, or that of the file with the same content that was there before.

        Raises
        ------
        FileRefusedError
            If it is empty, or shorter than announced.
        FailureError
            If the disk is full, or the folder is gone or cannot be written to.
        """
        if self._stream is None:
            msg = "the upload is over"
            raise ValueError(msg)
        try:
            self._refuse_incomplete()
            self._stream.flush()
            os.fsync(self._stream.fileno())
            self._stream.close()
            with _naming:
                return self._settle()
        except OSError as error:
            raise self._failed(error) from error
        finally:
            self.abort()

    def abort(self) -> None:
        """Leave nothing behind; after `finish`, and a second time, it does nothing."""
        stream, self._stream = self._stream, None
        if stream is not None:
            with suppress(OSError):
                stream.close()
            with suppress(OSError):
                self._scratch.unlink(missing_ok=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.abort()

    def _begin(self) -> None:
        uploads = inside(self._folder, SCRATCH)
        uploads.mkdir(parents=True, exist_ok=True)
        self._scratch, self._stream = new_scratch(uploads)
        if self._expected and self._expected + _ROOM > free_bytes(uploads):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def _refuse_beyond(self, size: int) -> None:
        if size > self._limit:
            raise FileRefusedError(
                f"the file is larger than {_megabytes(self._limit)}", where=self.offered,
                remedy="export the pulls alone, or fewer channels",
            )  # fmt: skip

    def _refuse_incomplete(self) -> None:
        if self._expected is not None and self.size != self._expected:
            raise FileRefusedError(
                f"only {self.size:,} of {self._expected:,} bytes came", where=self.offered, remedy="send it again"
            )
        if not self.size:
            raise FileRefusedError("the file is empty", where=self.offered, remedy="export it again, or name another")

    def _settle(self) -> StoredFile:
        digest = self._hash.hexdigest()
        same = find_same(self._folder, digest, self.size)
        if same:
            return StoredFile(name=same, offered=self.offered, size=self.size, sha256=digest, already=True)
        pulls = inside(self._folder, _PULLS)
        pulls.mkdir(exist_ok=True)
        taken = {path.name.lower() for path in pulls.iterdir()}
        while True:
            name = free_name(self._name, taken)
            if move_to(self._scratch, pulls / name):
                break
            taken.add(name.lower())  # another program was faster
        note_on_disk(pulls)
        return StoredFile(name=f"{_PULLS}/{name}", offered=self.offered, size=self.size, sha256=digest)

    def _failed(self, error: OSError) -> FailureError:
        if not self._folder.is_dir():
            return FailureError("the session folder is gone", where=self.offered, remedy="put it back, or reload")
        what = "the disk is full" if error.errno in _FULL else f"it cannot be stored ({error.strerror})"
        remedy = "make room on it" if error.errno in _FULL else "check the permissions and the disk"
        return FailureError(what, where=self.offered, remedy=f"{remedy} and send the file again; nothing was stored")


def _shown(offered: str) -> str:
    """Last part of an offered name, short enough for a sentence."""
    last = offered.replace("\\", "/").rstrip("/").rpartition("/")[2] or "file"
    return last if len(last) <= _SHOWN else f"{last[: _SHOWN - 3]}..."


def _megabytes(size: int) -> str:
    return f"{size / 1e9:.0f} GB" if size >= 1e9 else f"{max(size / 1e6, 0.001):.3g} MB"
