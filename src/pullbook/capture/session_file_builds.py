"""The ``[[factor]]`` and ``[[build]]`` tables of a session file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from pullbook.capture.session_file_keys import KEYS
from pullbook.errors import UnfinishedError, Way
from pullbook.quantities.toml_table import Bounds, nearest
from pullbook.quantities.toml_words import example as example_of
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
    factors: list[Factor] = []
    for table in top.tables("factor", KEYS["factor"]):
        name = table.text("name", example="runners")
        if name in {factor.name for factor in factors}:
            table.take(table.refusal("name", "two factors have this name", remedy="give each factor its own name"))
            name = ""
        change = table.quantity("change", Dimension.TIME, _CHANGE) if "change" in table else None
        factors.append(Factor(name=name, levels=_levels_of_factor(table), change=change))
    return tuple(factors)


def _levels_of_factor(table: TomlTable) -> tuple[str, ...]:
    levels = table.texts("levels", example=_LEVELS)
    if len(levels) < 2:
        table.take(table.refusal("levels", "a factor needs two levels or more", remedy=example_of("", _LEVELS)))
    named = [level for level in levels if level]
    if len(set(named)) < len(named):
        table.take(table.refusal("levels", "a level stands twice", remedy="write each level once"))
    return () if table.failed("levels") else levels


def parse_builds(top: TomlTable, factors: Sequence[Factor]) -> tuple[Build, ...]:
    """Builds in the order of the file; exactly one is the baseline."""
    builds: list[Build] = []
    doubtful = top.failed("factor") and not factors
    for table in top.tables("build", KEYS["build"]):
        name = table.text("name", example="A")
        if name in {build.name for build in builds}:
            remedy = Way.REPEATS.said("one [[build]] for each set of parts; repeats are more [[pull]]")
            table.take(table.refusal("name", "two builds have this name", remedy=remedy))
            name = ""
        builds.append(
            Build(
                name=name,
                label=table.text("label", example="long runners", default=""),
                baseline=_is_baseline(table, builds),
                levels={} if doubtful else _levels_of_build(table, factors),
            )
        )
    _demand_builds(top, builds)
    return tuple(builds)


def _is_baseline(table: TomlTable, before: Sequence[Build]) -> bool:
    """Whether a build is the baseline, which only one can be."""
    if not table.flag("baseline"):
        return False
    other = next((build for build in before if build.baseline), None)
    if other is not None:
        table.take(table.refusal("baseline", f"build '{other.name}' is the baseline already",
                                 remedy=Way.BASELINE.said("keep baseline = true in one [[build]] only")))  # fmt: skip
    return other is None


def _demand_builds(top: TomlTable, builds: Sequence[Build]) -> None:
    if not builds and not top.failed("build"):
        remedy = Way.BUILDS.said("write a [[build]] for each set of parts, one of them with baseline = true")
        top.take(UnfinishedError("the session has no builds", where=top.at(), remedy=remedy))
    numbers = range(1, len(builds) + 1)
    if builds and not any(b.baseline for b in builds) and not any(top.failed(f"build[{n}].baseline") for n in numbers):
        remedy = Way.BASELINE.said("write baseline = true in the [[build]] that the others are compared with")
        top.take(UnfinishedError("the session has no baseline", where=top.at("build"), remedy=remedy))


def _levels_of_build(table: TomlTable, factors: Sequence[Factor]) -> dict[str, str]:
    named = [factor for factor in factors if factor.name]
    entry = table.raw("levels") if "levels" in table else {}
    if isinstance(entry, dict) and entry and not factors:
        remedy = Way.FACTORS.said("write a [[factor]] for each thing that is changed")
        table.take(table.refusal("levels", "levels are declared, but the session has no factors", remedy=remedy))
        return {}
    keys = [factor.name for factor in named]
    if len(named) < len(factors) and isinstance(entry, dict):  # the name of a factor is wrong: any key may be meant
        keys += [str(key) for key in cast("dict[object, object]", entry)]
    levels = table.table("levels", keys)
    chosen: dict[str, str] = {}
    for factor in named:
        level = levels.text(factor.name, example=next(iter(factor.levels), "340 mm"))
        if factor.levels and level not in factor.levels:
            levels.take(levels.refusal(factor.name, f"factor '{factor.name}' has no such level",
                                       remedy=nearest(level, factor.levels)))  # fmt: skip
        chosen[factor.name] = level
    return chosen
