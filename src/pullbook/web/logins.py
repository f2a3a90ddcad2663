"""Who is logged in: one small file for each login, so that a restart of the server leaves the pages open.

The browser holds a random word; the file is named by its hash, and its time is that of the last use. A file that is
copied from here lets nobody in, and a new password ends all logins of the old one.
"""

from __future__ import annotations

import hashlib
import os
import secrets
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Logins"]

_IDLE: Final = 12 * 3600.0  # s; a working day
_LIFE: Final = 7 * 86400.0  # s
_MOST: Final = 500
_WORD: Final = 32  # byte
_LONGEST: Final = 200  # characters of a word that is looked up


class Logins:
    """Logins with one password.

    Parameters
    ----------
    folder : Path
        Where the files are; it is made when somebody logs in.
    password_hash : str
        Hash of the password that they logged in with.
    idle : float
        After how long without a request a login ends. [s]
    life : float
        After how long it ends anyway. [s]
    """

    def __init__(self, folder: Path, password_hash: str, *, idle: float = _IDLE, life: float = _LIFE) -> None:
        self._folder = folder
        self._of = hashlib.sha256(password_hash.encode()).hexdigest()
        self._idle = idle
        self._life = life

    def begin(self) -> str:
        """Word of a new login.

        Raises
        ------
        FailureError
            If it cannot be kept.
        """
        word = secrets.token_urlsafe(_WORD)
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._make_room()
            number = os.open(self._file(word), os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(number, "w", encoding="ascii") as file:
                file.write(f"{self._of} {os.fstat(number).st_mtime_ns}")
        except OSError as error:
            raise FailureError(
                f"the login cannot be kept: {error.strerror}", where=str(self._folder), remedy="see to the folder"
            ) from error
        return word

    def is_known(self, word: str) -> bool:
        """Whether a word is that of a login that has not ended; it counts as used now."""
        if not 0 < len(word) <= _LONGEST:
            return False
        path = self._file(word)
        try:
            of, began = path.read_text(encoding="ascii").split()
            used = path.stat().st_mtime_ns
            os.utime(path)
            now = path.stat().st_mtime_ns
            is_fresh = now - used <= self._idle * 1e9 and now - int(began) <= self._life * 1e9
        except (OSError, ValueError):
            return False
        if not (is_fresh and secrets.compare_digest(of, self._of)):
            self.end(word)
            return False
        return True

    def end(self, word: str) -> None:
        """Forget a login."""
        with suppress(OSError):
            self._file(word).unlink()

    def _file(self, word: str) -> Path:
        return self._folder / hashlib.sha256(word.encode(errors="replace")).hexdigest()

    def _make_room(self) -> None:
        """Forget those that were used longest ago, where there are too many."""
        files = sorted(self._folder.iterdir(), key=_last_use)
        for path in files[: max(0, len(files) - _MOST + 1)]:
            with suppress(OSError):
                path.unlink()


def _last_use(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0
