"""The ``[[part]]`` tables of a session file: parts with a name and dimensions of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from pullbook.capture.session_file_keys import KEYS
from pullbook.errors import UnitError
from pullbook.quantities.free_quantity import free_quantity
from pullbook.quantities.toml_table import nearest
from pullbook.records.build import Dimensioned, Part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.toml_table import TomlTable
    from pullbook.records.build import Factor

__all__ = ["parse_parts"]


def parse_parts(top: TomlTable, factors: Sequence[Factor]) -> tuple[Part, ...]:
    """Parts in the order of the file."""
    parts: list[Part] = []
    for table in top.tables("part", KEYS["part"]):
        factor, level = _where(table, factors)
        part = Part(
            name=table.text("name", example="header no. 17"), factor=factor, level=level, dimensions=_dimensions(table)
        )
        if (part.name, factor, level) in {(other.name, other.factor, other.level) for other in parts}:
            table.take(table.refusal("name", "this part stands twice at the same level", remedy="write it once"))
        parts.append(part)
    return tuple(parts)


def _where(table: TomlTable, factors: Sequence[Factor]) -> tuple[str, str]:
    """Factor and level at which a part is fitted; empty for always."""
    factor = table.text("factor", example="header", default="")
    level = table.text("level", example="4-1", default="")
    if not factor and not level:
        return "", ""
    known = {one.name: one.levels for one in factors}
    if not factor:
        table.take(table.refusal("level", "a level belongs to a factor", remedy="write the factor too"))
    elif factor not in known:
        table.take(table.refusal("factor", "no [[factor]] has this name", remedy=nearest(factor, list(known))))
    elif level not in known[factor]:
        level = table.text("level", example=next(iter(known[factor]), "4-1"))
        if level:
            remedy = nearest(level, known[factor])
            table.take(table.refusal("level", f"factor '{factor}' has no such level", remedy=remedy))
    return factor, level


def _dimensions(table: TomlTable) -> dict[str, Dimensioned]:
    """Dimensions by name; each may be of any kind, but has a unit."""
    entry = table.raw("dimensions") if "dimensions" in table else {}
    keys = [str(key) for key in cast("dict[object, object]", entry)] if isinstance(entry, dict) else []
    below = table.table("dimensions", keys)
    found: dict[str, Dimensioned] = {}
    for name in below.keys:
        written = below.text(name, example="44 mm")
        quantity = free_quantity(written)
        if quantity is not None:
            kind = str(quantity.unit.dimension)
            found[name] = Dimensioned(value=quantity.value, kind=kind, written=written)
        elif written:
            below.take(UnitError("a number with a unit is needed", where=below.at(name), value=written,
                                 remedy="write for example '44 mm', '1 3/4 in' or '272 deg'"))  # fmt: skip
    return found
