"""What a database says when something is wrong, as one sentence with a remedy."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from pullbook.errors import FailureError, InputError, PullbookError

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["explained"]

_BUSY: Final = "another program has been writing to the archive for long"
_SAFE: Final = "nothing was changed"
_SHOWN: Final = 60  # characters of a text that is wrong
_KNOWN: Final = (  # words of the database, what is wrong, what helps
    (("database is locked", "lock timeout", "locknotavailable"), _BUSY, "wait until it has ended, then try again"),
    (("disk is full", "no space left", "diskfull", "could not extend"), "the disk is full",
     "make room and try again"),
    (("readonly", "read-only", "insufficient privilege", "permission denied"), "the archive may not be written to",
     "check the permissions of the file and its folder, or of the user of the database"),
    (("not a database",), "this is no archive: the file is not one of SQLite, or its beginning is damaged",
     "name another file, or put a backup in its place with 'pullbook remember --restore FILE --replace'"),
    (("malformed", "corrupt", "invalid page"), "the archive is damaged",
     "see what with 'pullbook remember --check', and put a backup in its place with --restore FILE"),
    (("unable to open",), "the archive cannot be opened", "check that its folder is there and may be written to"),
    (("authentication failed", "no password supplied"), "the server does not accept this user",
     "check the name and the password in the address"),
    (("does not exist",), "the server has no such database or role",
     "make it with the tools of the server, or correct the address"),
    (("connection refused", "could not connect", "connection failed", "could not translate", "timeout expired",
      "failed to resolve"), "the server does not answer", "check the address, and that the server runs"),
    (("terminating connection", "server closed", "connection is lost", "the connection is closed"),
     "the server went away", "try again when it is back"),
    (("disk i/o error",), "the disk failed", "check the disk and the connection to it"),
)  # fmt: skip


@contextmanager
def explained(shown: str, *, writing: bool) -> Generator[None]:
    """Turn an error of the database into a `FailureError` about the archive.

    Parameters
    ----------
    shown : str
        Name of the archive for people.
    writing : bool
        Whether something was to be changed.

    Raises
    ------
    FailureError
        If the database failed.
    InputError
        If a text holds bytes that are no characters.
    """
    try:
        yield
    except PullbookError:
        raise
    except UnicodeEncodeError as error:
        remedy = f"write them as UTF-8; {_SAFE}" if writing else "write them as UTF-8"
        raise InputError("these words have bytes in them that are no characters", value=_readable(error.object),
                         remedy=remedy) from error  # fmt: skip
    except SQLAlchemyError as error:
        raise _told(error, shown, writing=writing) from error


def _readable(text: str) -> str:
    """Beginning of a text with a question mark for what is no character."""
    return text[:_SHOWN].encode("utf-8", "replace").decode()


def _told(error: SQLAlchemyError, shown: str, *, writing: bool) -> FailureError:
    cause = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    said = f"{type(cause).__name__} {cause}".lower()
    for signs, what, remedy in _KNOWN:
        if any(sign in said for sign in signs):
            return FailureError(what, where=shown, remedy=f"{remedy}; {_SAFE}" if writing else remedy)
    first = str(cause).strip().split("\n")[0].rstrip(".")
    return FailureError(f"the database failed ({first})", where=shown,
                        remedy=f"see what is wrong with 'pullbook remember --check'; {_SAFE}")  # fmt: skip
