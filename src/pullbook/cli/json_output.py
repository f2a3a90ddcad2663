"""JSON to a file or to the standard output."""

from __future__ import annotations

import sys
from pathlib import Path

from pullbook.records.json_text import json_text

__all__ = ["write_json"]


def write_json(content: object, goal: str) -> None:
    """Write JSON to a file, atomically, or with "-" to the standard output."""
    text = json_text(content)
    if goal == "-":
        sys.stdout.write(text)
        return
    from pullbook.app.folder import write_folder

    path = Path(goal)
    write_folder(path.parent, [(path.name, text.encode())], replace=True)
