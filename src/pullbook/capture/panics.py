"""Panics of a library written in Rust: they are caught and said in our words, so theirs are kept from the screen."""

from __future__ import annotations

import os
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["silent_panics"]

_STDERR: Final = 2
_ONE_AT_A_TIME: Final = threading.Lock()  # two that swap the same stream would put back each other's


@contextmanager
def silent_panics() -> Generator[None]:
    """Send what is written to the error stream past Python to nowhere, and look up no stack for it.

    Notes
    -----
    A panic writes its own message and, where RUST_BACKTRACE is set, spends seconds on a stack of addresses before
    Python sees an exception. Nothing but the call into the library belongs inside.
    """
    with _ONE_AT_A_TIME:
        try:
            kept = os.dup(_STDERR)
        except OSError:  # there is no error stream
            yield
            return
        nowhere = os.open(os.devnull, os.O_WRONLY)
        wanted = os.environ.get("RUST_BACKTRACE")
        os.environ["RUST_BACKTRACE"] = "0"
        os.dup2(nowhere, _STDERR)
        try:
            yield
        finally:
            os.dup2(kept, _STDERR)
            os.close(kept)
            os.close(nowhere)
            if wanted is None:
                del os.environ["RUST_BACKTRACE"]
            else:
                os.environ["RUST_BACKTRACE"] = wanted
