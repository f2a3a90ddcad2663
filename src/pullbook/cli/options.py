"""Options that several commands share, and their values on the way in."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.records.declaration import ColumnRule

__all__ = [
    "Columns",
    "Json",
    "SessionFolder",
    "StandardOption",
    "Units",
    "Windows",
    "WithoutBands",
    "column_rules",
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
Columns = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="CHANNEL=COLUMN", help="Say what a column is, as 'torque=Torque Corr [lb ft]'."),
]

_RULE: Final = re.compile(r"\s*([a-z_]+)\s*=\s*(.*?)\s*(?:\[([^\[\]]*)\])?\s*")


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
