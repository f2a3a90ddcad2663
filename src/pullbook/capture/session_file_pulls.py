"""The ``[[pull]]`` tables of a session file: the run order."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_engine import channel_bounds, parse_columns
from pullbook.capture.session_file_keys import KEYS, OBSERVED, STANDARDS
from pullbook.errors import OutOfRangeError, UnfinishedError, Way
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.toml_table import nearest
from pullbook.quantities.toml_words import example as example_of
from pullbook.records.declaration import Air, PullEntry, Standard

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.toml_table import TomlTable

__all__ = ["RECEIVED", "parse_pulls"]

RECEIVED: Final[dict[str, Standard]] = {
    OBSERVED: Standard.NONE,
    **{name: standard for name, standard in STANDARDS.items() if standard is not Standard.NONE},
}
_DRIVE: Final = re.compile(r"[A-Za-z]:")
_AIR: Final = {"temperature": Channel.AIR_TEMPERATURE, "pressure": Channel.AIR_PRESSURE,
               "humidity": Channel.AIR_HUMIDITY}  # fmt: skip
_DRIEST: Final = 0.01  # nobody tests in air below one per cent of humidity; 0.46 there is a fraction with a % behind it


def parse_pulls(
    top: TomlTable, *, builds: Sequence[str], received: Standard | None, day: date | None, needed: bool = True
) -> tuple[PullEntry, ...]:
    """Pulls in run order.

    Parameters
    ----------
    top : TomlTable
        The whole file.
    builds : sequence of str
        Names of the builds.
    received : Standard or None
        What all files were corrected to, where the session says it once.
    day : date or None
        Day of the session, for times of day.
    needed : bool
        A session without pulls is unfinished.
    """
    tables = top.tables("pull", KEYS["pull"])
    if needed and not tables and not top.failed("pull"):
        top.take(UnfinishedError(
            "the session has no pulls", where=top.at(), remedy="write a [[pull]] for each, in run order"
        ))  # fmt: skip
    entries: list[PullEntry] = []
    timed: list[PullEntry] = []
    filed: list[tuple[int, PullEntry]] = []
    for number, table in enumerate(tables, start=1):
        entry = _pull(table, builds=builds, received=received, day=day)
        entries.append(entry)
        if not table.failed("time"):
            _demand_time(table, entry, timed, day=day)
            timed.append(entry)
        if not table.failed("file") and not table.failed("which"):
            _demand_own_file(table, entry, filed)
            filed.append((number, entry))
    return tuple(entries)


def _pull(table: TomlTable, *, builds: Sequence[str], received: Standard | None, day: date | None) -> PullEntry:
    build = table.text("build", example="A")
    if build not in builds and builds and all(builds):
        table.take(table.refusal("build", "no [[build]] has this name", remedy=nearest(build, builds)))
    if received is None and "received" not in table:
        table.take(UnfinishedError(
            "nobody said what the numbers in the file are corrected to", where=table.at("received"),
            remedy=Way.RECEIVED.said(
                f'write received = "{OBSERVED}" for raw numbers, or the standard, here or once in [session]'
            ),
        ))  # fmt: skip
    return PullEntry(
        build=build,
        file=_file(table),
        which=table.count("which", default=0),
        time=_time(table, day),
        air=_air(table.table("air", KEYS["pull.air"])),
        received=received if received is not None and "received" not in table else table.word("received", RECEIVED),
        refitted=table.flag("refitted"),
        left_out=table.text("left_out", example="the fuel ran out", default=""),
        columns=parse_columns(table.table("columns", KEYS["columns"])),
    )


def _file(table: TomlTable) -> str:
    text = table.text("file", example="pulls/a1.csv")
    example = "write the path below the session folder with forward slashes, as in 'pulls/a1.csv'"
    path = PurePosixPath(text)
    if "\\" in text:
        table.take(table.refusal("file", "a path here has no backslashes", remedy=example))
    elif path.is_absolute() or _DRIVE.match(text):
        table.take(table.refusal("file", "an absolute path makes the session folder useless elsewhere", remedy=example))
    elif ".." in path.parts:
        table.take(table.refusal("file", "the path leaves the session folder",
                                 remedy="copy the file into the session folder"))  # fmt: skip
    elif not path.parts:
        table.take(table.refusal("file", "this is a folder, not a file", remedy=example))
    return str(path)


def _time(table: TomlTable, day: date | None) -> datetime | None:
    """Date and time of a pull; a time of day belongs to the day of the session."""
    if "time" not in table:
        return None
    value = table.raw("time")
    if isinstance(value, time) and day is not None:
        return datetime.combine(day, value)
    if isinstance(value, datetime):
        return value
    table.take(table.refusal("time", "a date with time is needed",
                             remedy=example_of("time", "2026-05-04T09:12:00, without quotes")))  # fmt: skip
    return None


def _demand_time(table: TomlTable, entry: PullEntry, before: Sequence[PullEntry], *, day: date | None) -> None:
    """Times stand at every pull or at none, all with or all without zone, and never run backwards."""
    if not before:
        if entry.time is not None and day is not None and entry.time.date() != day:
            table.take(table.refusal("time", f"the first pull is not on the day of the session, {day.isoformat()}",
                                     remedy=Way.DATE.said("correct the time or the date in [session]")))  # fmt: skip
    elif (entry.time is None) != (before[0].time is None):
        table.take(UnfinishedError(
            "some pulls have a time and some have none", where=table.at("time"),
            remedy="write the time of every pull, or of none: the drift of the day is judged by it", elsewhere=True,
        ))  # fmt: skip
    elif entry.time is not None and before[0].time is not None:
        _demand_later(table, entry.time, [other.time for other in before if other.time is not None])


def _demand_later(table: TomlTable, time: datetime, before: Sequence[datetime]) -> None:
    like = [other for other in before if (other.utcoffset() is None) == (time.utcoffset() is None)]
    if before[0] not in like:
        table.take(table.refusal("time", "some times have a zone and some have none",
                                 remedy="write all of them the same way"))  # fmt: skip
    elif time < like[-1]:
        remedy = Way.ORDER.said("put the [[pull]] tables in run order, or correct the time")
        what = f"this pull is earlier than the one before it, {like[-1].isoformat()}"
        table.take(table.refusal("time", what, remedy=remedy))


def _demand_own_file(table: TomlTable, entry: PullEntry, before: Sequence[tuple[int, PullEntry]]) -> None:
    """One stretch of one file is one pull."""
    for number, other in before:
        if other.file != entry.file:
            continue
        if other.which == entry.which and entry.which:
            table.take(table.refusal("which", f"pull[{number}] is the same pull of the same file",
                                     remedy="name each pull once"))  # fmt: skip
        if not (other.which and entry.which):
            remedy = Way.WHICH.said("write which = 1, which = 2 and so on in both, or correct the file")
            table.take(table.refusal("file", f"pull[{number}] has the same file", remedy=remedy))


def _air(table: TomlTable) -> Air:
    values: Mapping[str, float | None] = {
        key: table.quantity(key, CHANNELS[channel].dimension, channel_bounds(channel)) if key in table else None
        for key, channel in _AIR.items()
    }
    humidity = values["humidity"]
    if humidity is not None and 0.0 < humidity < _DRIEST:
        table.take(OutOfRangeError(
            "no test was ever made in air that dry", where=table.at("humidity"), value=str(table.raw("humidity")),
            remedy="write for example '46 %' where 0.46 was meant as a fraction",
        ))  # fmt: skip
    return Air(temperature=values["temperature"], pressure=values["pressure"], humidity=humidity)
