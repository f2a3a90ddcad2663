"""The ``[engine]``, ``[limits]`` and ``[columns]`` tables of a session file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_keys import KEYS, LIMITED
from pullbook.errors import InputError, UnitError
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.toml_table import Bounds
from pullbook.quantities.units import Dimension, find_unit, parse_unit
from pullbook.records.build import Engine, Ignition, Induction
from pullbook.records.declaration import ColumnRule, Limit

if TYPE_CHECKING:
    from pullbook.quantities.toml_table import TomlTable

__all__ = ["SPEED_BOUNDS", "channel_bounds", "parse_columns", "parse_engine", "parse_limits"]

SPEED_BOUNDS: Final = Bounds(of=Channel.SPEED, low=0.0, high=CHANNELS[Channel.SPEED].high)
_DISPLACEMENT: Final = Bounds(of=Dimension.VOLUME, low=10e-6, high=100e-3)  # a model engine to a large ship's cylinder
_EFFICIENCY: Final = Bounds(of=Dimension.RATIO, low=0.5, high=1.0)
_POWER: Final = Bounds(of=Dimension.POWER, low=0.0, high=CHANNELS[Channel.POWER].high)
_BRACKET: Final = re.compile(r"(?P<column>.*\S)\s*\[(?P<unit>[^\[\]]*)\]")


def channel_bounds(channel: Channel) -> Bounds:
    """What is possible for a channel, as bounds of a declared value."""
    return Bounds(of=channel, low=CHANNELS[channel].low, high=CHANNELS[channel].high)


def parse_engine(table: TomlTable) -> Engine:
    """Engine that an ``[engine]`` table declares."""
    displacement = table.quantity("displacement", Dimension.VOLUME, _DISPLACEMENT) if "displacement" in table else None
    efficiency = None
    if "mechanical_efficiency" in table:
        efficiency = table.quantity("mechanical_efficiency", Dimension.RATIO, _EFFICIENCY)
    strokes = table.count("strokes", default=4)
    if strokes not in {2, 4}:
        table.take(table.refusal("strokes", "an engine has 2 or 4 strokes a cycle", remedy="write strokes = 4"))
    return Engine(
        name=table.text("name", example="2.2 litre four", default=""),
        displacement=displacement,
        induction=table.word("induction", {kind.value: kind for kind in Induction}, default=Induction.NATURAL),
        ignition=table.word("ignition", {kind.value: kind for kind in Ignition}, default=Ignition.SPARK),
        strokes=strokes,
        friction=_friction(table),
        mechanical_efficiency=efficiency,
        boost_controlled=table.flag("boost_controlled"),
    )


def _friction(table: TomlTable) -> tuple[tuple[float, float], ...]:
    points: list[tuple[float, float]] = []
    for point in table.tables("friction", KEYS["engine.friction"]):
        speed = point.quantity("speed", Dimension.SPEED, SPEED_BOUNDS)
        power = point.quantity("power", Dimension.POWER, _POWER)
        if points and speed <= points[-1][0]:
            point.take(point.refusal("speed", "the points of measured friction must stand by rising speed",
                                     remedy="sort them, one point for each speed"))  # fmt: skip
        points.append((speed, power))
    return tuple(points)


def parse_limits(table: TomlTable) -> tuple[Limit, ...]:
    """Limits that a ``[limits]`` table declares, in the order of the channel catalogue."""
    limits: list[Limit] = []
    for channel in LIMITED:
        if channel in table:
            low, high = table.span(channel, CHANNELS[channel].dimension, channel_bounds(channel))
            limits.append(Limit(channel=channel, low=low, high=high))
    return tuple(limits)


def parse_columns(table: TomlTable) -> tuple[ColumnRule, ...]:
    """Rules that a ``[columns]`` table declares, in the order of the channel catalogue."""
    rules = tuple(_column(table, channel) for channel in Channel if channel in table)
    seen: dict[str, Channel] = {}
    for rule in rules:
        if rule.column in seen:
            what = f"this column is declared as {seen[rule.column]} already"
            table.take(table.refusal(rule.channel, what, remedy="one column, one channel"))
        if rule.column:
            seen[rule.column] = rule.channel
    return rules


def _column(table: TomlTable, channel: Channel) -> ColumnRule:
    if isinstance(table.raw(channel), dict):
        entry = table.table(channel, KEYS["columns.channel"])
        column = entry.text("column", example="Torque")
        unit = entry.text("unit", example=CHANNELS[channel].symbol_metric, default="")
        place = entry.at("unit")
    else:
        column = table.text(channel, example=f"Column name [{CHANNELS[channel].symbol_metric}]")
        unit, place = "", table.at(channel)
        bracket = _BRACKET.fullmatch(column)
        if bracket is not None:
            column, unit = bracket["column"], bracket["unit"].strip()
            if find_unit(bracket["unit"]) is None:
                table.take(_no_unit(table.text(channel, example=""), channel=channel, place=place))
    if unit:
        try:
            _demand_dimension(unit, channel=channel, place=place)
        except InputError as error:
            table.take(error)
    return ColumnRule(channel=channel, column=column, unit=unit)


def _no_unit(column: str, *, channel: Channel, place: str) -> UnitError:
    """Square brackets hold a unit; what else stands in them belongs to the name, and only the tester knows."""
    remedy = f"write {channel} = {{ column = '{column}' }} if the brackets belong to the name of the column"
    return UnitError("what stands in square brackets is no known unit", where=place, value=column, remedy=remedy)


def _demand_dimension(unit: str, *, channel: Channel, place: str) -> None:
    found = find_unit(unit)
    if channel is Channel.TORQUE and found is not None and found.dimension is Dimension.VOLTAGE:
        raise UnitError(
            "volts are no torque until they are calibrated", where=place, value=unit,
            remedy="declare the column as load_signal; it is then compared in per cent",
        )  # fmt: skip
    # Only ratios of a load signal are used, so that it may be in any unit: volts, newtons, kilograms.
    parse_unit(unit, where=place, dimension=None if channel is Channel.LOAD_SIGNAL else CHANNELS[channel].dimension)
