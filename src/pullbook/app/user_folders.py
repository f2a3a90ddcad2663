"""Where pullbook keeps what belongs to the user and not to a session: settings, the archive, what can be made again.

``PULLBOOK_CONFIG_HOME``, ``PULLBOOK_DATA_HOME`` and ``PULLBOOK_CACHE_HOME`` in the environment name other folders.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

__all__ = ["cache_folder", "config_folder", "data_folder"]


def config_folder() -> Path:
    """Folder of the user's settings; it may not be there yet."""
    if own := os.environ.get("PULLBOOK_CONFIG_HOME"):
        return Path(own)
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", home / "AppData" / "Roaming")) / "pullbook"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "pullbook"
    return Path(os.environ.get("XDG_CONFIG_HOME", home / ".config")) / "pullbook"


def cache_folder() -> Path:
    """Folder of what can be made again at any time; it may not be there yet."""
    if own := os.environ.get("PULLBOOK_CACHE_HOME"):
        return Path(own)
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local")) / "pullbook"
    if sys.platform == "darwin":
        return home / "Library" / "Caches" / "pullbook"
    return Path(os.environ.get("XDG_CACHE_HOME", home / ".cache")) / "pullbook"


def data_folder() -> Path:
    """Folder of what must not get lost: the archive; it may not be there yet."""
    if own := os.environ.get("PULLBOOK_DATA_HOME"):
        return Path(own)
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local")) / "pullbook" / "data"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "pullbook"
    return Path(os.environ.get("XDG_DATA_HOME", home / ".local" / "share")) / "pullbook"
