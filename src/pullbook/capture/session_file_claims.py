"""The ``[[claim]]`` tables of a session file."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_engine import SPEED_BOUNDS
from pullbook.capture.session_file_keys import KEYS
from pullbook.errors import SessionFileError, UnfinishedError, Way
from pullbook.quantities.toml_table import nearest
from pullbook.quantities.toml_words import example as example_of
from pullbook.quantities.units import Dimension, find_unit
from pullbook.records.declaration import Claim, Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.toml_table import TomlTable

__all__ = ["parse_claims"]

PEAK: Final = "peak"
_SIZES: Final = ("at_least", "at_most", "within")
_SIZE_UNITS: Final = {Quantity.TORQUE: (Dimension.TORQUE, "8 N m"), Quantity.POWER: (Dimension.POWER, "8 kW")}
_UNIT_PART: Final = re.compile(r"\s*[-+\d.eE]*\s*(.*?)\s*")
_DASHED: Final = re.compile(r"\s*[\d.]+\s*[-\u2013]\s*\d")
_LARGEST_SHARE: Final = 1.0


def parse_claims(
    top: TomlTable, *, builds: Sequence[str], run: Sequence[str], rpm: tuple[float, float] | None
) -> tuple[Claim, ...]:
    """Claims in the order of the file.

    Parameters
    ----------
    top : TomlTable
        The whole file.
    builds, run : sequence of str
        Names of the builds, and of those that have pulls.
    rpm : tuple of (float, float) or None
        Range that is analysed. [rpm]
    """
    claims: list[Claim] = []
    for table in top.tables("claim", KEYS["claim"]):
        id_ = table.text("id", example="short-runners-top")
        if id_ in {claim.id for claim in claims}:
            table.take(table.refusal("id", "two claims have this id", remedy="give each claim its own id"))
        pair = _pair(table, builds, run)
        quantity = table.word("quantity", {kind.value: kind for kind in Quantity})
        size, value, in_percent = _size(table, quantity)
        claims.append(
            Claim(
                id=id_,
                says=table.text("says", example="Short runners are worth at least 8 kW at the top", lines=True),
                of=pair[0],
                from_=pair[1],
                same_as=_same_as(table, pair, builds, run),
                quantity=quantity,
                where=_where(table, rpm),
                in_percent=in_percent,
                at_least=value if size == "at_least" else None,
                at_most=value if size == "at_most" else None,
                within=value if size == "within" else None,
            )
        )
    return tuple(claims)


def _pair(table: TomlTable, builds: Sequence[str], run: Sequence[str]) -> tuple[str, str]:
    names: list[str] = []
    for key in ("of", "from"):
        names.append(name := table.text(key, example=next(iter(builds), "A")))
        if name not in builds and builds and all(builds):
            table.take(table.refusal(key, "no [[build]] has this name", remedy=nearest(name, builds)))
        elif name in builds and name not in run:
            table.take(UnfinishedError("this build was not run: it has no [[pull]]", where=table.at(key), value=name,
                                       remedy="add its pulls, or take the claim out", elsewhere=True))  # fmt: skip
    of, from_ = names
    if of and of == from_:
        table.take(table.refusal("of", "a build is compared with itself", remedy="name two builds"))
    return of, from_


def _same_as(
    table: TomlTable, pair: tuple[str, str], builds: Sequence[str], run: Sequence[str]
) -> tuple[str, str] | None:
    if "same_as" not in table:
        return None
    second = _pair(table.table("same_as", KEYS["claim.same_as"]), builds, run)
    if second == pair and all(second):
        table.take(table.refusal("same_as", "a gain is compared with itself", remedy="name another pair of builds"))
    return second


def _where(table: TomlTable, rpm: tuple[float, float] | None) -> tuple[float, float] | None:
    """Range, one speed twice, or None for the peak."""
    text = table.text("where", example="5000..6500 rpm")
    if text.casefold() == PEAK:
        return None
    if ".." in text or " to " in text or _DASHED.match(text):
        low, high = table.span_of(text, "where", Dimension.SPEED, SPEED_BOUNDS)
    elif text[:1].isdecimal() or text[:1] in "+-.":
        low = high = table.quantity("where", Dimension.SPEED, SPEED_BOUNDS)
    else:
        remedy = "write 'peak', a range as '5000..6500 rpm', or one speed as '4200 rpm'"
        table.take(table.refusal("where", "this is no place on an rpm axis", remedy=remedy))
        return None
    if rpm is not None and (low < rpm[0] or high > rpm[1]):
        what = f"this is outside the range that is analysed, {rpm[0]:g} to {rpm[1]:g} rpm"
        table.take(table.refusal("where", what, remedy=Way.RANGE.said("move it inside, or widen rpm in [session]")))
    return low, high


def _size(table: TomlTable, quantity: Quantity) -> tuple[str, float, bool]:
    """Which of at_least, at_most and within is given, its value in SI, and whether it is a share."""
    given = [key for key in _SIZES if key in table]
    example = _SIZE_UNITS[quantity][1]
    if len(given) != 1:
        has = "none" if not given else " and ".join(given)
        wrong = SessionFileError if given else UnfinishedError
        table.take(wrong(f"one of at_least, at_most and within is needed, not {has}", where=table.at(),
                         remedy=example_of("at_least", f'"{example}"')))  # fmt: skip
        return "", math.nan, False
    key = given[0]
    in_percent = _is_share(table.raw(key))
    if not in_percent and table.failed("quantity"):
        return key, math.nan, False
    value = _demand_size(table, key, quantity) if not in_percent else table.quantity(key, Dimension.RATIO)
    if in_percent and not math.fabs(value) <= _LARGEST_SHARE:
        table.take(table.refusal(key, "no change of parts is worth that share", remedy="write for example '3 %'"))
    if key == "within" and value <= 0.0:
        remedy = Way.NEEDLESS.said(
            f'write the largest difference that does not matter, as in within = "{example}"', example
        )
        table.take(table.refusal(key, "no difference is ever shown to be zero", remedy=remedy))
    return key, value, in_percent


def _is_share(value: object) -> bool:
    found = _UNIT_PART.fullmatch(value) if isinstance(value, str) else None
    unit = find_unit(found[1]) if found is not None and found[1] else None
    return unit is not None and unit.dimension is Dimension.RATIO


def _demand_size(table: TomlTable, key: str, quantity: Quantity) -> float:
    """Size in the unit of the quantity; a unit of the other quantity is named as such."""
    dimension, example = _SIZE_UNITS[quantity]
    return table.quantity(
        key,
        dimension,
        remedy=Way.EXAMPLE.said(f'write for example {key} = "{example}" or {key} = "3 %"', f"{example} or 3 %"),
    )
