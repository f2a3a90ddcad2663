"""Torque and power that follow from what was measured, and refusals where nothing does."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.mapping_choice import lines_for
from pullbook.capture.mapping_notes import stated_speed
from pullbook.capture.mapping_proposals import in_fitting_units
from pullbook.capture.mapping_questions import ask, which_is
from pullbook.errors import FileRefusedError, MappingError, Way
from pullbook.quantities.channels import Channel
from pullbook.records.pull import ColumnChoice, TorqueKind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.capture.mapping_proposals import Proposal
    from pullbook.errors import Question
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.table import RawTable

__all__ = ["Derived", "derive", "refuse_without_speed", "refuse_without_torque"]

_RAD_S_PER_RPM: Final = math.pi / 30.0
_SLOWEST_RPM: Final = 300.0  # below it an engine is being cranked, and power over speed is noise

Derived = tuple[dict[Channel, "FloatArray"], tuple[ColumnChoice, ...], TorqueKind, tuple[str, ...]]


def derive(channels: Mapping[Channel, FloatArray], columns: Mapping[Channel, str]) -> Derived:
    """Channels that follow from the measured ones, how, what torque is, and the doubts.

    Torque comes from power over speed where only power was measured; on a roller, power is tractive force times
    road speed and torque is that power over engine speed, at the wheels.
    """
    if Channel.TORQUE in channels:
        return {}, (), TorqueKind.MEASURED, ()
    if Channel.POWER in channels and Channel.SPEED in channels:
        return _from_power(channels, columns)
    if {Channel.TRACTIVE_FORCE, Channel.VEHICLE_SPEED, Channel.SPEED} <= channels.keys():
        return _from_rollers(channels, columns)
    kind = TorqueKind.RELATIVE if Channel.LOAD_SIGNAL in channels else TorqueKind.MEASURED
    doubts = ("torque is an uncalibrated signal: builds can be compared in per cent only",)
    return {}, (), kind, doubts if kind is TorqueKind.RELATIVE else ()


def _over_speed(power: FloatArray, speed_rpm: FloatArray) -> FloatArray:
    """Torque [N m] of a power; NaN where the engine is not running."""
    running = np.where(speed_rpm >= _SLOWEST_RPM, speed_rpm, np.nan)
    torque: FloatArray = power / (running * _RAD_S_PER_RPM)
    return torque


def _from_power(channels: Mapping[Channel, FloatArray], columns: Mapping[Channel, str]) -> Derived:
    torque = _over_speed(channels[Channel.POWER], channels[Channel.SPEED])
    choice = ColumnChoice(
        channel=Channel.TORQUE, column=columns[Channel.POWER], unit="N m",
        reason="the file has power and no torque: torque is power over angular speed",
    )  # fmt: skip
    doubt = f"torque was not in the file: it is '{columns[Channel.POWER]}' over '{columns[Channel.SPEED]}'"
    return {Channel.TORQUE: torque}, (choice,), TorqueKind.MEASURED, (doubt,)


def _from_rollers(channels: Mapping[Channel, FloatArray], columns: Mapping[Channel, str]) -> Derived:
    power = channels[Channel.TRACTIVE_FORCE] * channels[Channel.VEHICLE_SPEED]
    torque = _over_speed(power, channels[Channel.SPEED])
    force, road, engine = (columns[c] for c in (Channel.TRACTIVE_FORCE, Channel.VEHICLE_SPEED, Channel.SPEED))
    choices = (
        ColumnChoice(
            channel=Channel.POWER, column=force, unit="W",
            reason=f"power at the wheels is tractive force '{force}' times road speed '{road}'",
        ),
        ColumnChoice(
            channel=Channel.TORQUE, column=force, unit="N m",
            reason=f"torque at the wheels, brought to engine speed, is that power over '{engine}'",
        ),
    )  # fmt: skip
    doubt = "power and torque are at the wheels: losses of tyres and transmission, and their inertia, are in them"
    return {Channel.POWER: power, Channel.TORQUE: torque}, choices, TorqueKind.MEASURED, (doubt,)


def refuse_without_speed(
    channels: Mapping[Channel, FloatArray], table: RawTable, turning: Sequence[Proposal], *, where: str
) -> None:
    """Refuse a table without an engine speed, or with one that is zero throughout.

    Parameters
    ----------
    channels : mapping of Channel to (n,) array of float
        Channels found. [SI unit of the channel]
    table : RawTable
        The table; its notes may state one constant speed.
    turning : sequence of Proposal
        Columns in a unit of rotation that are not the engine's by their name.
    where : str
        File, for the message.

    Raises
    ------
    MappingError
        If a column could be the engine's speed: the line that says so is given.
    FileRefusedError
        If engine speed is missing, stated once, or zero in every row.
    """
    if Channel.SPEED in channels:
        if not (np.abs(channels[Channel.SPEED]) > 0.0).any():
            blank = np.isnan(channels[Channel.SPEED]).all()
            says = "has no value in any of the" if blank else "is zero in all"
            raise FileRefusedError(
                f"engine speed {says} {channels[Channel.SPEED].size} rows: the engine was not running",
                where=where, remedy="give a file that was recorded during a pull",
            )  # fmt: skip
        return
    if turning:
        listed = ", ".join(f"'{proposal.column}'" for proposal in turning)
        raise MappingError(
            f"there is no engine speed; {listed} could stand for it, but the name does not say so", where=where,
            remedy=Way.COLUMNS.said(f"if it does, put under [columns] in session.toml {lines_for(turning)}"),
            questions=(ask(Channel.SPEED, which_is("engine speed", turning), turning, table),),
        )  # fmt: skip
    constant = stated_speed(table.preamble)
    if constant is not None:
        raise FileRefusedError(
            f"engine speed is stated once as {constant:.0f} rpm and is no column: at constant speed there is no sweep",
            where=where, remedy="give a file in which the engine is swept over its speeds at full throttle",
        )  # fmt: skip
    on_rollers = " (road speed alone does not tell engine speed)" if Channel.VEHICLE_SPEED in channels else ""
    raise FileRefusedError(
        f"there is no engine speed among the {len(table.names)} columns{on_rollers}", where=where,
        remedy=Way.COLUMNS.said(
            'name it under [columns] in session.toml, for example speed = { column = "THE NAME", unit = "rpm" }'
        ),
        questions=(ask(Channel.SPEED, "which column is engine speed?", (), table),),
    )  # fmt: skip


def refuse_without_torque(
    channels: Mapping[Channel, FloatArray], signals: tuple[Proposal, ...], misfits: tuple[str, ...],
    table: RawTable, *, where: str,
) -> None:  # fmt: skip
    """Refuse a table with nothing that stands for torque.

    Raises
    ------
    MappingError
        If a column in volts could be the load signal: the line that says so is given.
    FileRefusedError
        If nothing in the table can stand for torque.
    """
    if {Channel.TORQUE, Channel.POWER, Channel.LOAD_SIGNAL} & channels.keys():
        return
    said = f" ({'; '.join(misfits)})" if misfits else ""
    if signals:
        lines = lines_for(signals)
        listed = ", ".join(f"'{signal.column}'" for signal in signals)
        asked = ask(Channel.LOAD_SIGNAL, which_is("the load cell", signals), signals, table)
        raise MappingError(
            f"there is no torque and no power{said}; {listed} could be the load cell, but nothing in the name says so",
            where=where, remedy=Way.COLUMNS.said(f"if it is, put under [columns] in session.toml {lines}"),
            questions=(asked, *_ask_torque(table)),
        )  # fmt: skip
    raise FileRefusedError(
        f"there is no torque, power or load signal among the {len(table.names)} columns{said}", where=where,
        remedy=Way.COLUMNS.said(
            'name one under [columns] in session.toml, for example torque = { column = "THE NAME", unit = "N m" }'
        ),
        questions=_ask_torque(table),
    )  # fmt: skip


def _ask_torque(table: RawTable) -> tuple[Question, ...]:
    """Questions of which one answer is enough."""
    return (
        ask(Channel.TORQUE, "which column is torque?", in_fitting_units(table, Channel.TORQUE), table),
        ask(Channel.POWER, "or which column is power?", in_fitting_units(table, Channel.POWER), table),
    )
