"""The commands of pullbook."""

from __future__ import annotations

__all__ = ["run"]


def run() -> None:
    """Run the command line."""
