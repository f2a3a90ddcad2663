"""Whether there is a screen, and the browser on it."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["has_screen", "open_address", "open_in_browser"]


def has_screen() -> bool:
    """Whether somebody sits before this machine: a terminal, and a display where one is needed."""
    if os.environ.get("CI") or not sys.stdout.isatty():
        return False
    return sys.platform in {"win32", "darwin"} or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def open_in_browser(page: Path) -> None:
    """Open a page in the user's browser."""
    open_address(page.resolve().as_uri())


def open_address(address: str) -> None:
    """Open an address in the user's browser."""
    import webbrowser

    webbrowser.open(address)
