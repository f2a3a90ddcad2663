"""The kinds of long work: what a worker process runs, by name.

Each is a function ``kind(progress, **arguments) -> files``: arguments are plain data that JSON can carry, files are
names and bytes. The module is imported by the server as well, so everything heavy is imported inside.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app.question import asked
from pullbook.quantities.showing import UnitSystem
from pullbook.records.json_text import compact_json, json_text
from pullbook.records.verdict import Verdict
from pullbook.web.jobs_kind import Kind
from pullbook.web.work_archive import ARCHIVE_KINDS
from pullbook.web.work_engine import ENGINE_KINDS
from pullbook.web.work_plan import PLAN_KINDS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.ports import Progress
    from pullbook.app.question import Question

__all__ = ["KINDS", "WARM", "page", "read", "report"]


def page(progress: Progress, *, folder: str, **question: object) -> dict[str, bytes]:
    """Everything that the page of a session shows: findings, sections, charts, windows, what is still open.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    **question : object
        What is asked, in the words of an address: ``units``, ``of``, ``from``, ``window``, ``standard`` and
        ``without_bands``, each of them or none.
    """
    from pullbook.app.compare_builds import compare_session
    from pullbook.publish.sections import render_sections
    from pullbook.publish.window_data import window_data, window_data_with_all
    from pullbook.records.codec import findings_to_json
    from pullbook.web.open_words import open_words

    what = _question(question)
    result = compare_session(Path(folder), what, progress, with_windows=True)
    progress.step("drawing the page", 0, 1)
    parts = render_sections(result, system=what.system).as_json()
    charts = parts.pop("charts")
    says = {claim.id: claim.says for claim in result.session.claims}
    undetermined = [says[claim.id] for claim in result.findings.claims if claim.verdict is Verdict.UNDETERMINED]
    refused = [refusal.what for refusal in result.findings.refusals]
    words, tone = open_words(undetermined, refused, all_bands=result.findings.has_bands)
    return {
        "findings.json": json_text(findings_to_json(result)).encode(),
        "parts.json": compact_json(parts),
        "summary.json": compact_json({"open": words, "tone": tone}),
        "windows.json": window_data(result),
        "windows-with-all.json": window_data_with_all(result),
        **{f"chart-{key}.json": chart.encode() for key, chart in charts.items()},
    }


def read(progress: Progress, *, folder: str, name: str) -> dict[str, bytes]:
    """Card of one file of a session.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    name : str
        The file, as in "pulls/a1.csv".
    """
    from pullbook.app.session_files import cards

    return {"card.json": compact_json(cards(Path(folder), [name], progress)[0])}


def report(progress: Progress, *, folder: str, key: str, quick: bool, **question: object) -> dict[str, bytes]:
    """Draw the report of a session up beside it.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    key : str
        Name of the content that the report is made from.
    quick : bool
        Only light stills of 1920 by 1080 pixels.
    **question : object
        As `page` takes it.
    """
    from pullbook.app.stage_report import draw_up

    staged = draw_up(Path(folder), _question(question), key, progress, quick=quick)
    return {"staged.json": compact_json({"files": len(staged.files)})}


def _question(words: Mapping[str, object]) -> Question:
    """Question in the words of an address."""
    windows = [text for text in str(words.get("window", "")).split(",") if text]
    return asked(
        UnitSystem(str(words.get("units", "metric"))), windows,
        pair=(str(words.get("of", "")), str(words.get("from", ""))), standard=str(words.get("standard", "")),
        without_bands=bool(words.get("without_bands", False)), mark="",
    )  # fmt: skip


KINDS: Final[dict[str, Kind]] = {
    "page": Kind(run=page),
    "read": Kind(run=read),
    "report": Kind(run=report, urgent=False),
    **ENGINE_KINDS,
    **ARCHIVE_KINDS,
    **PLAN_KINDS,
}
"""Kinds of work by the name that a `Task` gives."""

WARM: Final = (
    "pullbook.app.compare_builds", "pullbook.records.codec", "pullbook.app.session_files", "pullbook.app.file_facts",
    "pullbook.publish.sections", "pullbook.publish.tables",
)  # fmt: skip
"""Modules that a worker imports while it has nothing to do, in this order."""
