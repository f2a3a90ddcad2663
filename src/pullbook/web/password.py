"""The password of a notebook that others can reach: only its hash is kept, in the user's settings.

References
----------
.. [1] A. Biryukov, D. Dinu, D. Khovratovich, S. Josefsson, "Argon2 Memory-Hard Function for Password Hashing and
   Proof-of-Work Applications", RFC 9106, 2021, section 4 (the second recommended set of parameters).
"""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

from pullbook.app.user_folders import config_folder
from pullbook.errors import FailureError, InputError

__all__ = ["check_password", "hash_password", "keep_password", "kept_password", "password_file"]

_FEWEST: Final = 10  # characters
_MOST: Final = 1_000  # characters; hashing a longer one would only keep the server busy
_LONGEST_FILE: Final = 1_000  # byte


def password_file() -> Path:
    """File that the hash is kept in."""
    return config_folder() / "password"


def hash_password(password: str) -> str:
    """Hash of a password, with its salt and parameters, as argon2id writes it [1]_.

    Raises
    ------
    InputError
        If it is too short to withstand guessing, or too long.
    """
    from argon2 import PasswordHasher
    from argon2.profiles import RFC_9106_LOW_MEMORY

    if len(password) < _FEWEST:
        raise InputError("this password is too short", remedy=f"take at least {_FEWEST} characters, as three words")
    if len(password) > _MOST:
        raise InputError("this password is too long", remedy=f"take at most {_MOST} characters")
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY).hash(password)


def check_password(password_hash: str, password: str) -> bool:
    """Whether a hash is that of a password; takes about a tenth of a second and 64 MB."""
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    if len(password) > _MOST:
        return False
    try:
        return PasswordHasher().verify(password_hash, password)
    except (VerificationError, InvalidHashError):
        return False


def keep_password(password: str) -> Path:
    """Keep the hash of a password where only the user can read it.

    Raises
    ------
    InputError
        If the password is too short or too long.
    FailureError
        If the file cannot be written.
    """
    text = hash_password(password) + "\n"
    path = password_file()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        # A temporary file of this kind can be read by its owner alone.
        number, name = tempfile.mkstemp(dir=path.parent, prefix=".password-")
        try:
            with os.fdopen(number, "w", encoding="ascii") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(path)
        except BaseException:
            with suppress(OSError):
                Path(name).unlink()
            raise
    except OSError as error:
        raise FailureError(
            f"the password cannot be kept: {error.strerror}", where=str(path), remedy="see to the folder"
        ) from error
    return path


def kept_password() -> str:
    """Hash that is kept; empty where no password was ever set.

    Raises
    ------
    FailureError
        If the file cannot be read.
    InputError
        If it holds no hash.
    """
    path = password_file()
    try:
        with path.open(encoding="ascii", errors="replace") as file:
            text = file.read(_LONGEST_FILE).strip()
    except FileNotFoundError:
        return ""
    except OSError as error:
        raise FailureError(
            f"the password cannot be read: {error.strerror}", where=str(path), remedy="see to the file"
        ) from error
    if not text.startswith("$argon2id$"):
        raise InputError(
            "this file holds no password", where=str(path), remedy="run 'pullbook serve --set-password' again"
        )
    return text
