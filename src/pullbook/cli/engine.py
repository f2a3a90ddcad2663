"""``pullbook engine``: an engine file to start from, and a check of one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pullbook.cli.options import Json, Units  # noqa: TC001 - the command line reads the annotations when it runs
from pullbook.quantities.showing import UnitSystem

__all__ = ["engine"]

engine = typer.Typer(rich_markup_mode=None, help="Write and check engine files.")


@engine.command()
def new(
    like: Annotated[
        str, typer.Option("--like", metavar="NAME", help="Engine to start from: inline-four, v8-cross-plane or single.")
    ],
    to: Annotated[Path, typer.Option("--to", metavar="FILE", help="File to write.")] = Path("engine.toml"),
    replace: Annotated[bool, typer.Option("--replace", help="Replace the file if it is there.")] = False,  # noqa: FBT002 - an option
) -> None:
    """Write an engine file with remarks, complete and ready to run."""
    from pullbook.app.check_engine import new_engine

    path = new_engine(like, to, replace=replace)
    print(f"{path}: an invented engine; change what differs from yours, then run 'pullbook engine check {path}'")


@engine.command()
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Engine file, as engine.toml.")],
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="Draw the pipes to scale: .svg, .png or .pdf."),
    ] = None,
    dark: Annotated[bool, typer.Option("--dark", help="Draw on dark paper.")] = False,  # noqa: FBT002 - an option
    units: Units = UnitSystem.METRIC,
    json_to: Json = None,
) -> None:
    """Tell what an engine file declares, what is out of the usual range, and what is assumed.

    Numbers that cannot be are refused; numbers that are only unusual are told, with the usual range.
    """
    from pullbook.app.check_engine import Picture, check_engine

    wanted = None if picture is None else Picture(path=picture, dark=dark, system=units)
    checked = check_engine(file, wanted)
    if json_to is None:
        from pullbook.cli.show_engine import print_engine

        print_engine(checked, units)
        if picture is not None:
            print(f"\nPicture: {picture}")
    else:
        from pullbook.app.engine_json import engine_as_json
        from pullbook.cli.json_output import write_json

        write_json(engine_as_json(checked), json_to)
