"""Options that several commands share, and their values on the way in."""

from __future__ import annotations

import re
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer
from typer.core import TyperCommand

from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Generator

    from pullbook.app.learn_history import Teacher
    from pullbook.records.declaration import ColumnRule

__all__ = [
    "ArchiveTaught",
    "Columns",
    "HistoryFile",
    "Json",
    "SessionFolder",
    "StandardOption",
    "Units",
    "Windows",
    "WithArchive",
    "WithoutBands",
    "column_rules",
    "teacher_of",
]

Units = Annotated[UnitSystem, typer.Option("--units", envvar="PULLBOOK_UNITS", help="Units that you read.")]
Json = Annotated[
    str | None,
    typer.Option("--json", metavar="FILE", help="Write JSON to FILE instead of text; - for the standard output."),
]
SessionFolder = Annotated[Path, typer.Argument(metavar="SESSION", help="Session folder, or its session.toml.")]
Windows = Annotated[
    list[str] | None,
    typer.Option("--window", metavar="RPM..RPM", help="Range of speed to report gains over, as 2500..3500."),
]
WithoutBands = Annotated[
    bool,
    typer.Option("--without-bands", help="Show curves even where no doubt can be stated; no claim is decided then."),
]
StandardOption = Annotated[
    str, typer.Option("--standard", metavar="NAME", help="Correct to this standard instead of that of the session.")
]
ArchiveTaught = Annotated[
    str | None,
    typer.Option(
        "--archive", metavar="[PLACE]", show_default=False,
        help="Learn the scatter of the bench from earlier sessions in the archive; without PLACE the usual one.",
    ),
]  # fmt: skip
HistoryFile = Annotated[
    Path | None,
    typer.Option("--history", metavar="FILE", help="Take what such a comparison learnt from its findings.json."),
]
Columns = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="CHANNEL=COLUMN", help="Say what a column is, as 'torque=Torque Corr [lb ft]'."),
]

_RULE: Final = re.compile(r"\s*([a-z_]+)\s*=\s*(.*?)\s*(?:\[([^\[\]]*)\])?\s*")


class WithArchive(TyperCommand):
    """A command whose ``--archive`` may stand without a place."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:  # noqa: ANN401 - whatever click typer has
        """Give the usual place where none stands behind the option."""
        bare = [
            one == "--archive" and (place == len(args) - 1 or args[place + 1].startswith("-"))
            for place, one in enumerate(args)
        ]
        return super().parse_args(ctx, [f"{one}=" if alone else one for one, alone in zip(args, bare, strict=True)])


@contextmanager
def teacher_of(archive: str | None, history: Path | None) -> Generator[Teacher | None]:
    """Who teaches a comparison; None where nobody is asked to.

    Raises
    ------
    InputError
        If both are named, or the file is none.
    """
    if archive is not None and history is not None:
        raise InputError("an archive and a file cannot both teach", where="--history", value=str(history),
                         remedy="leave one of --archive and --history out")  # fmt: skip
    if archive is None and history is None:
        yield None
        return
    if history is not None:
        from pullbook.app.history_file import from_file

        yield from_file(history)
        return
    from pullbook.app.learn_history import from_archive
    from pullbook.wiring import archive_at

    opened = archive_at(archive or "")
    try:
        yield from_archive(opened)
    finally:
        opened.close()


def column_rules(texts: list[str] | None) -> tuple[ColumnRule, ...]:
    """Rules of ``--column`` options.

    Raises
    ------
    InputError
        If one is no rule or names an unknown channel.
    """
    from difflib import get_close_matches

    from pullbook.quantities.channels import Channel
    from pullbook.records.declaration import ColumnRule

    rules: list[ColumnRule] = []
    for text in texts or ():
        found = _RULE.fullmatch(text)
        if found is None or not found[2]:
            raise InputError(
                "this is no rule", where="--column", value=text, remedy="write for example 'torque=Torque Corr [lb ft]'"
            )
        if found[1] not in list(Channel):
            near = get_close_matches(found[1], list(Channel), n=1, cutoff=0.0)
            raise InputError(
                "there is no such channel", where="--column", value=found[1], remedy=f"did you mean '{near[0]}'?"
            )
        rules.append(ColumnRule(channel=Channel(found[1]), column=found[2], unit=found[3] or ""))
    return tuple(rules)
