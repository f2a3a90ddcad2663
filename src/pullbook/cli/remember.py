"""``remember``: a session into the archive, questions to the archive, and its care."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pullbook.cli.json_output import write_json
from pullbook.cli.options import Json, Windows  # noqa: TC001 - typer reads the annotations
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pullbook.app.ports import Archive

__all__ = ["remember"]


def remember(
    sessions: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[SESSION]...", help="Session folder, or its session.toml; with --export: names in the archive."
        ),
    ] = None,
    find: Annotated[
        str | None, typer.Option("--find", metavar="WORDS", help="Show sessions by words and dimensions.")
    ] = None,
    engine: Annotated[str, typer.Option("--engine", metavar="NAME", help="With --find: only on this engine.")] = "",
    since: Annotated[str, typer.Option("--since", metavar="DAY", help="With --find: first day, as 2026-05-04.")] = "",
    until: Annotated[str, typer.Option("--until", metavar="DAY", help="With --find: last day.")] = "",
    most: Annotated[int, typer.Option("--most", metavar="N", min=1, help="With --find: how many are shown.")] = 20,
    excluded: Annotated[bool, typer.Option("--excluded", help="With --find: show excluded sessions too.")] = False,
    history: Annotated[
        str | None, typer.Option("--history", metavar="SESSION", help="Show who did what, and when: a session, or all.")
    ] = None,
    exclude: Annotated[
        tuple[str, str] | None,
        typer.Option("--exclude", metavar="SESSION WHY", help="Leave a session out of what is found and pooled."),
    ] = None,
    correct: Annotated[
        tuple[str, str] | None,
        typer.Option("--correct", metavar="SESSION KEY=TEXT", help="Correct title, date, engine, question or notes."),
    ] = None,
    undo: Annotated[
        int | None, typer.Option("--undo", metavar="N", help="Undo an event of the history; both stay in it.")
    ] = None,
    check: Annotated[bool, typer.Option("--check", help="Check every byte, and name what is damaged.")] = False,
    repair: Annotated[
        bool, typer.Option("--repair", help="With --check: work out anew what follows from the history.")
    ] = False,
    backup: Annotated[
        Path | None, typer.Option("--backup", metavar="FILE", help="Write the archive as it stands into one file.")
    ] = None,
    restore: Annotated[
        Path | None, typer.Option("--restore", metavar="FILE", help="Put a backup in the place of the archive.")
    ] = None,
    export: Annotated[
        Path | None,
        typer.Option("--export", metavar="FOLDER", help="Write sessions, or those of --find, as open data."),
    ] = None,
    merge: Annotated[
        Path | None, typer.Option("--merge", metavar="FILE", help="Take what a backup or another archive has beside.")
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="With --backup, --restore and --export: replace what is there.")
    ] = False,
    pool: Annotated[
        str | None,
        typer.Option("--pool", metavar="CHANGE", help="What all sessions say of a change, as 'header 4-2-1 from 4-1'."),
    ] = None,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FOLDER", help="With --pool: write the evidence page there.")
    ] = None,
    windows: Windows = None,
    standard: Annotated[
        str, typer.Option("--standard", metavar="NAME", help="With --pool: correct all sessions to this standard.")
    ] = "",
    dyno: Annotated[str, typer.Option("--dyno", metavar="KIND", help="With --pool: engine or chassis alone.")] = "",
    honest: Annotated[
        bool, typer.Option("--honest", help="How often bands held: the baseline of each session against itself.")
    ] = False,
    archive: Annotated[
        str, typer.Option("--archive", metavar="PLACE", help="File, or postgresql+psycopg://user@host/database.")
    ] = "",
    json_to: Json = None,
) -> None:
    """Keep a session in the archive, or ask the archive what has been tested.

    The same session again is harmless; one whose files changed becomes a new revision.
    """
    from pullbook.cli import archive_care as care
    from pullbook.cli import pool as evidence
    from pullbook.wiring import archive_at

    if pool is None:
        _without_pool({"--to": to, "--window": windows, "--standard": standard, "--dyno": dyno})
    named = bool(sessions)
    asked_of = care.Asked(words=find or "", engine=engine, since=since, until=until, most=most, excluded=excluded)
    ways: list[tuple[bool, Callable[[Archive], tuple[object, list[str], int]]]] = [
        (named and export is None, lambda opened: care.keep(opened, sessions or [])),
        (
            find is not None and export is None,
            lambda opened: care.find(opened, asked_of),
        ),
        (
            export is not None and named != (find is not None),
            lambda opened: care.export(opened, export or Path(), sessions or asked_of, replace=replace),
        ),
        (
            pool is not None,
            lambda opened: evidence.pool(opened, pool or "", to, standard=standard, dyno=dyno, windows=windows or ()),
        ),
        (honest, evidence.honest),
        (history is not None, lambda opened: care.history(opened, history or "")),
        (exclude is not None, lambda opened: care.exclude(opened, exclude or ("", ""))),
        (correct is not None, lambda opened: care.correct(opened, correct or ("", ""))),
        (undo is not None, lambda opened: care.undo(opened, undo or 0)),
        (check, lambda opened: care.check(opened, repair=repair)),
        (backup is not None, lambda opened: care.backup(opened, backup or Path(), replace=replace)),
        (merge is not None, lambda opened: care.merge(opened, merge or Path())),
        (restore is not None, lambda opened: care.restore(opened, restore or Path(), replace=replace)),
    ]
    asked = [way for wanted, way in ways if wanted]
    if len(asked) != 1:
        raise InputError("one thing is needed: a session to remember, or one thing to do with the archive",
                         remedy="write 'pullbook remember SESSION', or for example --find \"camshaft\"")  # fmt: skip
    opened = archive_at(archive)
    try:
        told, lines, status = asked[0](opened)
    finally:
        opened.close()
    if json_to is None:
        for line in lines:
            print(line)
    else:
        write_json(told, json_to)
    if status:
        raise typer.Exit(status)


def _without_pool(options: Mapping[str, object]) -> None:
    """Refuse what goes with --pool alone: left out silently, a page would be missed."""
    for name, value in options.items():
        if value:
            raise InputError("this goes with --pool", where=name, remedy="name the change with --pool, or leave it out")
