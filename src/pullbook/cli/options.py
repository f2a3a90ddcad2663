"""Options that several commands share, and their values on the way in."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.app.compare_builds import Question
    from pullbook.records.declaration import ColumnRule, Standard

__all__ = [
    "Columns",
    "Json",
    "SessionFolder",
    "Units",
    "Windows",
    "WithoutBands",
    "column_rules",
    "question",
    "standard_named",
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
Columns = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="CHANNEL=COLUMN", help="Say what a column is, as 'torque=Torque Corr [lb ft]'."),
]

_WINDOW: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:\.\.|-)\s*(\d+(?:\.\d+)?)\s*(?:rpm)?\s*")
_RULE: Final = re.compile(r"\s*([a-z_]+)\s*=\s*(.*?)\s*(?:\[([^\[\]]*)\])?\s*")


def _window(text: str) -> tuple[float, float]:
    found = _WINDOW.fullmatch(text)
    if found is None:
        raise InputError(
            "this is no range of speed", where="--window", value=text, remedy="write for example 2500..3500"
        )
    low, high = float(found[1]), float(found[2])
    if not low < high:
        raise InputError("the range is empty", where="--window", value=text, remedy="write the lower end first")
    return low, high


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


def question(
    units: UnitSystem, windows: list[str] | None = None, *, of: str = "", from_: str = "", without_bands: bool = False
) -> Question:
    """Question of the options of a command."""
    from pullbook.app.compare_builds import Question

    ranges = tuple(_window(text) for text in windows or ())
    return Question(of=of, from_=from_, windows=ranges, without_bands=without_bands, system=units)


def standard_named(text: str, where: str) -> Standard:
    """Correction standard by its name, whatever the case and blanks.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    from difflib import get_close_matches

    from pullbook.records.declaration import Standard

    plain = {re.sub(r"[\s_-]", "", standard).lower(): standard for standard in Standard}
    plain["observed"] = Standard.NONE
    key = re.sub(r"[\s_-]", "", text).lower()
    if key in plain:
        return plain[key]
    near = get_close_matches(key, plain, n=1, cutoff=0.4)
    hint = f"did you mean '{plain[near[0]]}'? " if near else ""
    known = ", ".join(f"'{standard}'" for standard in Standard)
    raise InputError("this standard is unknown", where=where, value=text, remedy=f"{hint}write one of {known}")
