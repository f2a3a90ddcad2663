"""``pullbook serve``: the notebook in the browser."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pullbook.errors import InputError

if TYPE_CHECKING:
    from pullbook.web.settings import Settings

__all__ = ["serve"]


def serve(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Folder with sessions; default: the one you are in.")
    ] = Path(),
    host: Annotated[
        str,
        typer.Option("--host", metavar="ADDRESS", help="Address to listen on; beyond this machine with a password."),
    ] = "127.0.0.1",
    port: Annotated[
        int | None,
        typer.Option("--port", metavar="N", min=1, max=65535, help="Port to listen on; default: a free one near 8420."),
    ] = None,
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="NAME", help="Further name that a browser may ask for, as bench.example."),
    ] = None,
    guests: Annotated[bool, typer.Option("--guests", help="Let others read without the password.")] = False,
    archive: Annotated[
        str,
        typer.Option("--archive", metavar="PLACE", help="File, or postgresql+psycopg://user@host/database."),
    ] = "",
    set_password: Annotated[
        bool, typer.Option("--set-password", help="Set the password that others need, and stop.")
    ] = False,
    open_page: Annotated[
        bool | None,
        typer.Option("--open/--no-open", help="Open the notebook in the browser; default: where there is a screen."),
    ] = None,
) -> None:
    """Serve the sessions of a folder as a notebook in the browser.

    Only this machine can reach it, until --host says otherwise. Ctrl-C ends it.
    """
    if set_password:
        _set_password()
        return
    from pullbook.cli.screen import has_screen, open_address
    from pullbook.web.password import kept_password
    from pullbook.web.serve import listen, run
    from pullbook.web.settings import Settings, reached_by
    from pullbook.wiring import archive_file

    names = tuple(name or ())
    settings = Settings(
        root=_existing(folder),
        host=host,
        port=port or 0,
        names=names,
        password_hash=kept_password() if guests or reached_by(host, names) else "",
        guests=guests,
        archive=archive,
    )
    archive_file(archive)  # an address of something else is told before anything is served
    with listen(host, port) as heard:
        settings = replace(settings, port=heard.getsockname()[1])

        def started() -> None:
            _tell(settings)
            if open_page or (open_page is None and has_screen()):
                open_address(settings.address)

        run(settings, heard, started)


def _existing(folder: Path) -> Path:
    if not folder.is_dir():
        raise InputError(
            "there is no such folder",
            where="FOLDER",
            value=str(folder),
            remedy="name the folder that your sessions are in",
        )
    return folder.resolve()


def _tell(settings: Settings) -> None:
    """Say where the notebook is, and who else can read what."""
    from pullbook.web.settings import reached_by

    print(f"Notebook: {settings.address}\nSessions: {settings.root}")
    if reached_by(settings.host, settings.names):
        print(
            "Others can reach it. What goes over the network is not encrypted: whoever is on it can read along, the "
            "password included.\nUse it only in a network that you trust, or behind a program that adds https."
        )
    if settings.guests:
        print("Guests read without the password; they change nothing.")
    print("Ctrl-C ends it.", flush=True)


def _set_password() -> None:
    from pullbook.web.password import keep_password

    path = keep_password(_asked_twice())
    print(f"Password: its hash is kept in {path}; a notebook that is open now takes it at its next start.")


def _asked_twice() -> str:
    """Password as it was typed twice, unseen on a terminal; two lines where there is none."""
    words = ("Password: ", "The same again: ")
    if sys.stdin.isatty():
        from getpass import getpass

        try:
            first, again = (getpass(word) for word in words)
        except EOFError:
            raise typer.Abort from None
    else:
        first, again = (sys.stdin.readline().rstrip("\r\n") for _ in words)
    if first != again:
        raise InputError("the two are not the same", where="--set-password", remedy="type the password again")
    return first
