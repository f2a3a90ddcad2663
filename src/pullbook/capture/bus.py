"""Engine channels in raw CAN frames: answers of on-board diagnostics, and engine controller broadcasts of trucks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from pullbook.records.table import RawTable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from pullbook.quantities.arrays import BoolArray, FloatArray, IntArray

__all__ = ["Frames", "decoded"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frames:
    """CAN data frames in the order of the log.

    Attributes
    ----------
    time : (n,) array of float
        Time stamps. [s]
    number : (n,) array of int
        Identifiers of 11 or 29 bit. [1]
    payload : (n, 8) array of int
        Bytes of each frame. [1]
    """

    time: FloatArray
    number: IntArray
    payload: NDArray[np.integer]


class _Signal(NamedTuple):
    name: str
    unit: str
    first: int  # byte of the payload, from 0
    size: int
    factor: float
    offset: float
    big_endian: bool
    most: int  # largest raw value that is a measurement


def _obd(name: str, unit: str, size: int, factor: float, offset: float = 0.0) -> _Signal:
    return _Signal(name, unit, 3, size, factor, offset, big_endian=True, most=256**size)


# Current data, service 01 of SAE J1979 / ISO 15031-5: scaling by parameter (from memory).
_PARAMETERS: Final = {
    0x04: _obd("Calculated load", "%", 1, 100.0 / 255.0),
    0x05: _obd("Coolant temperature", "degC", 1, 1.0, -40.0),
    0x0B: _obd("Intake manifold pressure", "kPa", 1, 1.0),
    0x0C: _obd("Engine speed", "rpm", 2, 0.25),
    0x0D: _obd("Vehicle speed", "km/h", 1, 1.0),
    0x0E: _obd("Ignition advance", "deg", 1, 0.5, -64.0),
    0x0F: _obd("Intake air temperature", "degC", 1, 1.0, -40.0),
    0x10: _obd("Mass air flow", "g/s", 2, 0.01),
    0x11: _obd("Throttle position", "%", 1, 100.0 / 255.0),
    0x33: _obd("Barometric pressure", "kPa", 1, 1.0),
    0x46: _obd("Ambient air temperature", "degC", 1, 1.0, -40.0),
    0x5C: _obd("Oil temperature", "degC", 1, 1.0, -40.0),
}
_ANSWER: Final = 0x41  # service 01 + 0x40
# Electronic engine controller 1, parameter group 61444 of SAE J1939-71: SPN 190 and 513 (from memory).
_EEC1: Final = 61444
_EEC1_SIGNALS: Final = (
    _Signal("Engine speed", "rpm", 3, 2, 0.125, 0.0, big_endian=False, most=0xFAFF),
    _Signal("Actual engine torque of reference", "%", 2, 1, 1.0, -125.0, big_endian=False, most=0xFA),
)


def decoded(frames: Frames, label: str) -> Iterator[RawTable]:
    """Tables of the engine channels that the frames carry, one for each message.

    Parameters
    ----------
    frames : Frames
        The log.
    label : str
        Channel group that they come from.

    Returns
    -------
    iterator of RawTable
        Time in the first column. Rows count the frames of the group, from 1.

    References
    ----------
    .. [1] SAE J1979, "E/E Diagnostic Test Modes", service 01, parameters 04 to 5C (from memory).
    .. [2] SAE J1939-71, parameter group 61444, SPN 190 and 513 (from memory).
    """
    number, payload = frames.number, frames.payload
    answers = ((number >= 0x7E8) & (number <= 0x7EF)) | ((number & 0x1FFFFF00) == 0x18DAF100)
    answers &= payload[:, 1] == _ANSWER
    for parameter, signal in _PARAMETERS.items():
        told = answers & (payload[:, 2] == parameter) & (payload[:, 0] >= 2 + signal.size)
        yield from _by_sender(frames, told, (signal,), f"{label}, OBD service 01 parameter {parameter:02X}")
    engine = (number > 0x7FF) & ((number >> 8 & 0x3FFFF) == _EEC1)
    yield from _by_sender(frames, engine, _EEC1_SIGNALS, f"{label}, J1939 parameter group {_EEC1}")


def _by_sender(frames: Frames, told: BoolArray, signals: tuple[_Signal, ...], label: str) -> Iterator[RawTable]:
    """One table for each sender: two controllers that answer are two measurements."""
    for sender in np.unique(frames.number[told]).tolist():
        where = np.flatnonzero(told & (frames.number == sender))
        values = [_values(frames.payload[where], signal) for signal in signals]
        yield RawTable(
            names=("Time", *(signal.name for signal in signals)), units=("s", *(signal.unit for signal in signals)),
            columns=(frames.time[where], *values), rows=where + 1, sheet=f"{label}, sender {sender:X}",
            doubts=(f"decoded from {len(where)} of {len(frames.number)} bus frames",),
        )  # fmt: skip


def _values(payload: NDArray[np.integer], signal: _Signal) -> FloatArray:
    raw = np.zeros(len(payload), dtype=np.int64)
    places = range(signal.size) if signal.big_endian else reversed(range(signal.size))
    for place in places:
        raw = raw * 256 + payload[:, signal.first + place].astype(np.int64)
    return np.where(raw <= signal.most, raw * signal.factor + signal.offset, np.nan)
