"""Start of the program: ``pullbook`` and ``python -m pullbook``."""

from __future__ import annotations

import os

__all__ = ["main"]

# Our matrices are small and many: threads of linear algebra find no work in them and wait for one another in a loop
# that takes whole processors. It is said before the libraries are loaded; who wants it otherwise sets it outside.
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")


def main() -> None:
    """Run the command line."""
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    from pullbook.cli.main import run

    run()


if __name__ == "__main__":
    main()
