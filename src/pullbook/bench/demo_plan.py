"""Run sheet of the demo: which build was run when, and what went wrong with two of the pulls."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

__all__ = ["RUN_SHEET", "DemoPull", "Mishap"]


class Mishap(StrEnum):
    """What went wrong with a pull on purpose."""

    NONE = "none"
    COLD_OIL = "cold oil"
    GLITCH = "torque glitch"


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoPull:
    """One line of the run sheet.

    Attributes
    ----------
    name : str
        File name without folder and ending.
    build : str
        Build.
    minutes : int
        Time of day. [min after midnight]
    fitting : int
        Number of the bolt-up.
    mishap : Mishap
        What went wrong.
    second_logger : bool
        The file was written by another logger, in another dialect.
    """

    name: str
    build: str
    minutes: int
    fitting: int
    mishap: Mishap = Mishap.NONE
    second_logger: bool = False


_BLOCKS: Final = (  # build, start of the first pull, first number of the file names
    ("A", 8 * 60 + 40, 1),
    ("B", 9 * 60 + 46, 1),
    ("C", 11 * 60 + 16, 1),
    ("D", 12 * 60 + 41, 1),
    ("E", 13 * 60 + 57, 1),
    ("A", 15 * 60 + 52, 4),
)
_MISHAPS: Final = {"a1": Mishap.COLD_OIL, "c2": Mishap.GLITCH}
_SECOND_LOGGER: Final = ("d3",)
_MINUTES_BETWEEN: Final = 7

RUN_SHEET: Final = tuple(
    DemoPull(
        name=(name := f"{build.lower()}{number + turn}"),
        build=build,
        minutes=start + turn * _MINUTES_BETWEEN,
        fitting=fitting,
        mishap=_MISHAPS.get(name, Mishap.NONE),
        second_logger=name in _SECOND_LOGGER,
    )
    for fitting, (build, start, number) in enumerate(_BLOCKS, start=1)
    for turn in range(3)
)
