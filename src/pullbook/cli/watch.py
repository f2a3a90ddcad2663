"""A progress line on the terminal for work that takes more than a second."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from types import TracebackType
    from typing import Self

    from rich.progress import Progress as RichProgress
    from rich.progress import TaskID

__all__ = ["Bar"]


class Bar:
    """Progress on the error stream where that is a terminal, silence elsewhere; used as a context.

    Ctrl-C anywhere inside ends the work; nothing is written halfway.
    """

    def __init__(self) -> None:
        self._bar: RichProgress | None = None
        self._task: TaskID | None = None

    def __enter__(self) -> Self:
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

            columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
            self._bar = Progress(*columns, console=Console(stderr=True), transient=True)
            self._task = self._bar.add_task("starting", total=None)
            self._bar.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.stop()

    def step(self, doing: str, done: int, total: int) -> None:
        """Show what is being done and how far it is."""
        if self._bar is not None and self._task is not None:
            self._bar.update(self._task, description=doing, completed=done, total=total if total > 1 else None)
