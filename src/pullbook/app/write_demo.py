"""demo: write the invented session, compare it, publish its report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.app.compare_builds import compare_session
from pullbook.app.folder import write_folder
from pullbook.app.publish_report import write_report

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.app.ports import DemoBench, Progress
    from pullbook.app.question import Question
    from pullbook.records.result import SessionResult

__all__ = ["run_demo"]


def run_demo(goal: Path, bench: DemoBench, question: Question, progress: Progress) -> tuple[SessionResult, Path]:
    """Write the demo session into `goal` and its report, with the quick stills, into ``goal/report``.

    Parameters
    ----------
    goal : Path
        Folder of the demo session; files that pullbook writes are replaced, others stay.
    bench : DemoBench
        Gives the files.
    question : Question
        What is asked.
    progress : Progress
        Is told how far the work is.

    Returns
    -------
    result : SessionResult
        The findings.
    page : Path
        The report page.

    Raises
    ------
    PullbookError
        If the folder cannot be written to.
    """
    files = bench.demo_session()
    write_folder(goal, files.items(), replace=True)
    result = compare_session(goal, question, progress, with_windows=True)
    write_report(result, goal / "report", question, progress, quick=True)
    return result, goal / "report" / "report.html"
