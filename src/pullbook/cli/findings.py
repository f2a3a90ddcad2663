"""``compare`` and ``publish``: what a session shows, on the screen or in a folder."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads the annotations
from typing import Annotated, Final

import typer

from pullbook.cli.json_output import write_json
from pullbook.cli.options import (
    ArchiveTaught,
    HistoryFile,
    Json,
    SessionFolder,
    StandardOption,
    Units,
    Windows,
    WithoutBands,
    teacher_of,
)
from pullbook.quantities.showing import UnitSystem

__all__ = ["compare", "publish"]

_METRIC: Final = UnitSystem.METRIC


def compare(
    session: SessionFolder,
    of: Annotated[str, typer.Option("--of", metavar="BUILD", help="Build that is compared.")] = "",
    from_: Annotated[str, typer.Option("--from", metavar="BUILD", help="Build it is compared with.")] = "",
    windows: Windows = None,
    standard: StandardOption = "",
    without_bands: WithoutBands = False,
    archive: ArchiveTaught = None,
    history: HistoryFile = None,
    units: Units = _METRIC,
    json_to: Json = None,
) -> None:
    """Compare the builds of a session.

    Mean curves, gains, crossovers, peaks, effects and verdicts on claims, each with its doubt.
    """
    from pullbook.app.compare_builds import compare_session
    from pullbook.app.question import asked
    from pullbook.cli.watch import Bar

    question = asked(units, windows or (), pair=(of, from_), standard=standard, without_bands=without_bands)
    with teacher_of(archive, history) as teacher, Bar() as bar:
        result = compare_session(session, question, bar, teacher=teacher)
    if json_to is None:
        from pullbook.cli.show import print_findings

        print_findings(result, units)
    else:
        from pullbook.records.codec import findings_to_json

        write_json(findings_to_json(result), json_to)


def publish(
    session: SessionFolder,
    to: Annotated[Path, typer.Option("--to", metavar="OUT", help="Folder for the report, its stills and tables.")],
    of: Annotated[str, typer.Option("--of", metavar="BUILD", help="Build that is compared.")] = "",
    from_: Annotated[str, typer.Option("--from", metavar="BUILD", help="Build it is compared with.")] = "",
    windows: Windows = None,
    standard: StandardOption = "",
    without_bands: WithoutBands = False,
    archive: ArchiveTaught = None,
    history: HistoryFile = None,
    quick: Annotated[bool, typer.Option("--quick", help="Only light stills at 1920x1080, ready in seconds.")] = False,
    units: Units = _METRIC,
) -> None:
    """Write the report of a session into a folder.

    report.html works offline; stills, findings.json and curves.csv are beside it.
    """
    from pullbook.app.publish_report import publish_session
    from pullbook.app.question import asked
    from pullbook.cli.watch import Bar

    question = asked(units, windows or (), pair=(of, from_), standard=standard, without_bands=without_bands)
    with teacher_of(archive, history) as teacher, Bar() as bar:
        _, written = publish_session(session, to, question, bar, quick=quick, teacher=teacher)
    for path in written:
        print(path)
