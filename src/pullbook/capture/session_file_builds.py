"""The ``[[factor]]`` and ``[[build]]`` tables of a session file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_keys import KEYS
from pullbook.errors import UnfinishedError
from pullbook.quantities.toml_table import Bounds, nearest
from pullbook.quantities.units import UNITS, Dimension
from pullbook.records.build import Build, Factor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.toml_table import TomlTable

__all__ = ["parse_builds", "parse_factors"]

_CHANGE: Final = Bounds(of=UNITS["h"], low=0.0, high=30 * 24 * 3600.0)
_LEVELS: Final = '["340 mm", "260 mm"]'


def parse_factors(top: TomlTable) -> tuple[Factor, ...]:
    """Factors in the order of the file."""
    factors: dict[str, Factor] = {}
    for table in top.tables("factor", KEYS["factor"]):
        name = table.text("name", example="runners")
        if name in factors:
            raise table.refusal("name", "two factors have this name", remedy="give each factor its own name")
        change = table.quantity("change", Dimension.TIME, _CHANGE) if "change" in table else None
        factors[name] = Factor(name=name, levels=_levels_of_factor(table), change=change)
    return tuple(factors.values())


def _levels_of_factor(table: TomlTable) -> tuple[str, ...]:
    levels = table.texts("levels", example=_LEVELS)
    if len(levels) < 2:
        raise table.refusal("levels", "a factor needs two levels or more", remedy=f"write for example {_LEVELS}")
    if len(set(levels)) < len(levels):
        raise table.refusal("levels", "a level stands twice", remedy="write each level once")
    return levels


def parse_builds(top: TomlTable, factors: Sequence[Factor]) -> tuple[Build, ...]:
    """Builds in the order of the file; exactly one is the baseline."""
    builds: dict[str, Build] = {}
    baseline = ""
    for table in top.tables("build", KEYS["build"]):
        name = table.text("name", example="A")
        if name in builds:
            raise table.refusal("name", "two builds have this name",
                                remedy="one [[build]] for each set of parts; repeats are more [[pull]]")  # fmt: skip
        if table.flag("baseline"):
            if baseline:
                raise table.refusal("baseline", f"build '{baseline}' is the baseline already",
                                    remedy="keep baseline = true in one [[build]] only")  # fmt: skip
            baseline = name
        builds[name] = Build(
            name=name,
            label=table.text("label", example="long runners", default=""),
            baseline=name == baseline,
            levels=_levels_of_build(table, factors),
        )
    _demand_builds(top, builds=list(builds), baseline=baseline)
    return tuple(builds.values())


def _demand_builds(top: TomlTable, *, builds: Sequence[str], baseline: str) -> None:
    if not builds:
        remedy = "write a [[build]] for each set of parts, one of them with baseline = true"
        raise UnfinishedError("the session has no builds", where=top.at(), remedy=remedy)
    if not baseline:
        remedy = "write baseline = true in the [[build]] that the others are compared with"
        raise UnfinishedError("the session has no baseline", where=top.at("build"), remedy=remedy)


def _levels_of_build(table: TomlTable, factors: Sequence[Factor]) -> dict[str, str]:
    names = [factor.name for factor in factors]
    entry = table.raw("levels") if "levels" in table else {}
    if isinstance(entry, dict) and entry and not names:
        raise table.refusal("levels", "levels are declared, but the session has no factors",
                            remedy="write a [[factor]] for each thing that is changed")  # fmt: skip
    levels = table.table("levels", names)
    chosen: dict[str, str] = {}
    for factor in factors:
        level = levels.text(factor.name, example=factor.levels[0])
        if level not in factor.levels:
            raise levels.refusal(factor.name, f"factor '{factor.name}' has no such level",
                                 remedy=nearest(level, factor.levels))  # fmt: skip
        chosen[factor.name] = level
    return chosen
