"""Start of the program: ``pullbook`` and ``python -m pullbook``."""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Run the command line."""
    from pullbook.cli.main import run

    run()


if __name__ == "__main__":
    main()
