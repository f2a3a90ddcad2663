"""engine new, engine check: an engine file to start from, and what an engine file declares, assumes and overlooks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import write_folder
from pullbook.app.simulate_engine import read_engine
from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.engine.network import Network
    from pullbook.engine.parts import EngineSpec

__all__ = ["PICTURES", "CheckedEngine", "Picture", "check_engine", "new_engine"]

PICTURES: Final = ("svg", "png", "pdf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Picture of the pipes that is wanted.

    Attributes
    ----------
    path : Path
        Where it goes; its ending says of what kind it is.
    dark : bool
        On dark paper.
    system : UnitSystem
        Units of its labels.
    """

    path: Path
    dark: bool = False
    system: UnitSystem = UnitSystem.METRIC


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedEngine:
    """What an engine file declares.

    Attributes
    ----------
    spec : EngineSpec
        Its parts, what is assumed, what is unusual.
    network : Network
        Its pipes.
    remarks : tuple of str
        What no single key shows, as the velocity of a lobe.
    """

    spec: EngineSpec
    network: Network
    remarks: tuple[str, ...]


def new_engine(name: str, goal: Path, *, replace: bool = False) -> Path:
    """Write the engine file of an invented engine.

    Parameters
    ----------
    name : str
        Name of the engine to start from.
    goal : Path
        File to write.
    replace : bool
        Whether a file that is there may be replaced.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        If there is no such engine, or a file is in the way.
    FailureError
        If the file cannot be written.
    """
    from pullbook.engine.templates import template_text

    text = template_text(name)
    if goal.is_dir():
        raise InputError("this is a folder, not a file", where=str(goal), remedy=f"write {goal / 'engine.toml'}")
    return write_folder(goal.parent, [(goal.name, text.encode())], replace=replace)[0]


def check_engine(path: Path, picture: Picture | None = None) -> CheckedEngine:
    """Read an engine file, spell out its pipes, and draw them where that is wanted.

    Parameters
    ----------
    path : Path
        Engine file.
    picture : Picture or None
        Picture to write.

    Returns
    -------
    CheckedEngine
        What it declares.

    Raises
    ------
    PullbookError
        If the file cannot be read, says something impossible, or the picture cannot be written; nothing was then.
    """
    from pullbook.engine.layouts import build_network
    from pullbook.engine.remarks import remarks_on

    kind = "" if picture is None else picture.path.suffix.removeprefix(".").lower()
    if picture is not None and kind not in PICTURES:
        raise InputError("this is no kind of picture that can be written", where="--picture", value=str(picture.path),
                         remedy=f"end its name with one of {', '.join('.' + one for one in PICTURES)}")  # fmt: skip
    spec = read_engine(path)
    checked = CheckedEngine(spec=spec, network=build_network(spec, where=str(path)), remarks=remarks_on(spec))
    if picture is not None:
        from pullbook.publish.engine_drawing import engine_drawing
        from pullbook.publish.stills import APPEARANCES

        appearance = next(one for one in APPEARANCES if one.name == ("dark" if picture.dark else "light"))
        title = f"{spec.block.name}: pipes to scale"
        content = engine_drawing(checked.network, title, appearance, system=picture.system, kind=kind)
        write_folder(picture.path.parent, [(picture.path.name, content)], replace=True)
    return checked
