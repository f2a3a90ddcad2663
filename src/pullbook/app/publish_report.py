"""publish: session folder -> report page, stills and tables in a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.app.compare_builds import compare_session
from pullbook.app.folder import write_folder
from pullbook.publish.files import publish_files

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pullbook.app.learn_history import Teacher
    from pullbook.app.ports import Progress
    from pullbook.app.question import Question
    from pullbook.records.result import SessionResult

__all__ = ["publish_session", "write_report"]


def publish_session(
    folder: Path,
    goal: Path,
    question: Question,
    progress: Progress,
    *,
    quick: bool = False,
    teacher: Teacher | None = None,
) -> tuple[SessionResult, list[Path]]:
    """Compare a session and write its report.

    Parameters
    ----------
    folder : Path
        The session folder.
    goal : Path
        Where the report goes.
    question : Question
        What is asked.
    progress : Progress
        Is told how far the work is.
    quick : bool
        Only light stills of 1920 by 1080 pixels.
    teacher : callable or None
        As `compare_session`.

    Returns
    -------
    result : SessionResult
        What was published.
    written : list of Path
        The files.

    Raises
    ------
    PullbookError
        As `compare_session`, or if the goal cannot be written to; nothing was written then.
    """
    result = compare_session(folder, question, progress, with_windows=True, teacher=teacher)
    return result, write_report(result, goal, question, progress, quick=quick)


def write_report(
    result: SessionResult, goal: Path, question: Question, progress: Progress, *, quick: bool = False
) -> list[Path]:
    """Write the report of a result: all of its files, or none."""

    def watched() -> Iterator[tuple[str, bytes]]:
        for number, (name, content) in enumerate(publish_files(result, system=question.system, quick=quick)):
            progress.step(f"drawing {name}", number, number + 1)
            yield name, content

    return write_folder(goal, watched(), replace=True)
