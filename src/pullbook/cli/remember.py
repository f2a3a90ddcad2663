"""``remember``: a session into the archive, and questions to the archive."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from pullbook.cli.json_output import write_json
from pullbook.cli.options import Json  # noqa: TC001 - typer reads the annotations
from pullbook.errors import InputError

if TYPE_CHECKING:
    from pullbook.app.ports import Archive

__all__ = ["remember"]


def remember(
    session: Annotated[
        Path | None, typer.Argument(metavar="[SESSION]", help="Session folder, or its session.toml.")
    ] = None,
    find: Annotated[
        str | None, typer.Option("--find", metavar="WORDS", help="Show sessions by words and dimensions.")
    ] = None,
    engine: Annotated[str, typer.Option("--engine", metavar="NAME", help="With --find: only on this engine.")] = "",
    since: Annotated[str, typer.Option("--since", metavar="DAY", help="With --find: first day, as 2026-05-04.")] = "",
    until: Annotated[str, typer.Option("--until", metavar="DAY", help="With --find: last day.")] = "",
    most: Annotated[int, typer.Option("--most", metavar="N", min=1, help="With --find: how many are shown.")] = 20,
    archive: Annotated[
        str, typer.Option("--archive", metavar="PLACE", help="File, or postgresql+psycopg://user@host/database.")
    ] = "",
    json_to: Json = None,
) -> None:
    """Keep a session in the archive, or ask the archive what has been tested.

    The same session again is harmless; one whose files changed becomes a new revision.
    """
    from pullbook.wiring import archive_at

    if (session is not None) + (find is not None) != 1:
        raise InputError("one thing is needed: a session to remember, or something to do with the archive",
                         remedy="write 'pullbook remember SESSION', or for example --find \"camshaft\"")  # fmt: skip
    opened = archive_at(archive)
    try:
        if session is not None:
            _keep(opened, session, json_to)
        else:
            _find(opened, find or "", (engine, since, until), most, json_to)
    finally:
        opened.close()


def _keep(archive: Archive, session: Path, json_to: str | None) -> None:
    from pullbook.app.archive_json import remembered_json
    from pullbook.app.remember_session import remember_session
    from pullbook.cli.show_archive import print_remembered
    from pullbook.cli.watch import Bar
    from pullbook.wiring import system_clock

    with Bar() as bar:
        done, memory = remember_session(session, archive, system_clock(), bar)
    if json_to is None:
        print_remembered(done, memory.content)
    else:
        write_json(remembered_json(done, memory.content), json_to)


def _find(archive: Archive, text: str, filters: tuple[str, str, str], most: int, json_to: str | None) -> None:
    from pullbook.app.archive_json import found_json
    from pullbook.app.archive_question import archive_question
    from pullbook.cli.show_archive import print_found

    engine, since, until = filters
    question = archive_question(text, engine=engine, since=since, until=until, most=most)
    found = archive.find(question)
    if json_to is None:
        print_found(found)
    else:
        write_json(found_json(found, question), json_to)
