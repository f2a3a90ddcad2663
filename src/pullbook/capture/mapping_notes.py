"""Engine speed that a file states once, outside its table of numbers."""

from __future__ import annotations

import itertools
import re
from typing import TYPE_CHECKING, Final

from pullbook.capture.mapping_proposals import read_unit
from pullbook.quantities.channels import Channel
from pullbook.quantities.name_matching import match_name
from pullbook.quantities.units import Dimension, to_si

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.units import Unit

__all__ = ["stated_speed"]

_CELLS: Final = re.compile(r"[;\t]|,(?!\d)")
_BRACKETED: Final = re.compile(r"(?P<name>.*?)\s*[\[(](?P<unit>[^\])]*)[\])]\s*")
_NUMBER: Final = re.compile(r"\s*([-+]?\d+(?:\.\d+)?)(\D.*)?")
_ASSIGNED: Final = re.compile(r"(?P<name>[^:=]+)[:=](?P<value>.+)")


def stated_speed(lines: tuple[str, ...]) -> float | None:
    """Engine speed that the lines outside a table give as one number.

    Parameters
    ----------
    lines : tuple of str
        Lines as written, in the order of the file.

    Returns
    -------
    float or None
        Engine speed; None where no line gives one with its unit. [rpm]

    Examples
    --------
    >>> stated_speed(("Fuel; Engine speed [RPM]", "C3H8; 1100.0"))
    1100.0
    >>> stated_speed(("Engine speed: 3000 1/min",))
    3000.0
    """
    for name, value in _pairs(lines):
        speed = _speed(name, value)
        if speed is not None:
            return speed
    return None


def _pairs(lines: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Name and value, written as "name: value" or in two lines one below the other."""
    cells = [_CELLS.split(line) for line in lines]
    for line in cells:
        for cell in line:
            found = _ASSIGNED.fullmatch(cell)
            if found:
                yield found["name"], found["value"]
    for names, values in itertools.pairwise(cells):
        if len(names) == len(values):
            yield from zip(names, values, strict=True)


def _speed(name: str, value: str) -> float | None:
    """Speed [rpm] of a name and a value, if they are of an engine speed."""
    bracketed = _BRACKETED.fullmatch(name)
    bare, unit_text = (bracketed["name"], bracketed["unit"]) if bracketed else (name, "")
    match, number = match_name(bare.strip()), _NUMBER.fullmatch(value)
    if match is None or number is None or Channel.SPEED not in match.channels:
        return None
    unit = _first_unit((number[2] or "").strip(), unit_text, match.unit)
    return None if unit is None or unit.dimension is not Dimension.SPEED else to_si(float(number[1]), unit)


def _first_unit(*texts: str) -> Unit | None:
    found = (read_unit(text, Dimension.SPEED) for text in texts if text.strip())
    return next((unit for unit in found if unit is not None), None)
