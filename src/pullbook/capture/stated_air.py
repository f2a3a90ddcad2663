"""Weather that a file states once, outside its table of numbers."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.name_matching import match_name
from pullbook.quantities.units import find_unit, to_si
from pullbook.records.declaration import Air

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["stated_air"]

_STATED: Final = re.compile(
    r"\W*(?P<name>[^\W\d][^\d:=\[(]*?)\s*(?:[\[(](?P<inside>[^\])]*)[\])])?\s*[:=,;\s]\s*"
    r"(?P<number>[-+]?\d+(?:[.,]\d+)?)\s*(?P<unit>[^\d,;:]*?)[\s,;\"]*"
)
# The whole line says one thing; or cells do, marked by what cannot stand in a number; or by commas, last.
_SPLITS: Final = (re.compile(r"$^"), re.compile(r"[;\t|]|\s{2,}"), re.compile(r","))
_CELLS: Final = 3  # a name, a number and a unit may be a cell each
_POSSIBLE: Final = {
    Channel.AIR_TEMPERATURE: (233.15, 343.15), Channel.AIR_PRESSURE: (50e3, 110e3), Channel.AIR_HUMIDITY: (0.0, 1.0),
}  # fmt: skip


def stated_air(lines: Sequence[str]) -> Air:
    """Air that the lines outside a table give, each quantity with its name, its number and its unit.

    Parameters
    ----------
    lines : sequence of str
        Lines as written, in the order of the file.

    Returns
    -------
    Air
        None where no line gives a quantity, where its unit is missing, where the value is beyond any weather, and
        where two lines disagree: nothing is guessed. [K, Pa, 1]

    Examples
    --------
    >>> air = stated_air(("Baro 29.42 inHg", "Air temp: 75 F", "Humidity (%),41", "Temp 80 F"))
    >>> round(air.pressure, 1), round(air.temperature, 2), air.humidity
    (99627.6, 297.04, 0.41)
    """
    found: dict[Channel, set[float]] = {}
    for line in lines:
        for channel, value in _of_line(line):
            found.setdefault(channel, set()).add(value)
    sure = {channel: next(iter(values)) for channel, values in found.items() if len(values) == 1}
    return Air(
        temperature=sure.get(Channel.AIR_TEMPERATURE),
        pressure=sure.get(Channel.AIR_PRESSURE),
        humidity=sure.get(Channel.AIR_HUMIDITY),
    )


def _of_line(line: str) -> list[tuple[Channel, float]]:
    """What a line states, read by the first way of splitting it that gives anything."""
    for split in _SPLITS:
        said = list(_of_cells([cell.strip() for cell in split.split(line) if cell.strip()]))
        if said:
            return said
    return []


def _of_cells(cells: list[str]) -> Iterator[tuple[Channel, float]]:
    for at in range(len(cells)):
        for count in range(1, min(_CELLS, len(cells) - at) + 1):
            said = _quantity(" ".join(cells[at : at + count]))
            if said is not None:
                yield said
                break


def _quantity(text: str) -> tuple[Channel, float] | None:
    """Channel and value of one statement, as in "Baro: 29.42 inHg"."""
    stated = _STATED.fullmatch(text)
    if stated is None:
        return None
    match = match_name(stated["name"].strip())
    unit = find_unit(stated["inside"] or stated["unit"])
    if match is None or match.needs_unit or unit is None:
        return None
    channel = match.channels[0]
    if channel not in _POSSIBLE or unit.dimension is not CHANNELS[channel].dimension:
        return None
    value = float(to_si(float(stated["number"].replace(",", ".")), unit))
    low, high = _POSSIBLE[channel]
    return (channel, value) if low <= value <= high else None
