"""MDF 4: files written by asammdf, real bus logs, frames by the formulas of the standards, and damaged files."""

from __future__ import annotations

import importlib.util
import io
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from pullbook.capture import measurement
from pullbook.capture.bus import Frames, decoded
from pullbook.capture.reader import read_tables
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.capture.reader import FileContents

FAST = np.arange(50) * 0.1
SPEED = 1500.0 + 100.0 * FAST


@pytest.fixture(scope="module")
def recording() -> bytes:
    asammdf: Any = pytest.importorskip("asammdf", reason="the mdf extra is not installed")
    states = np.array([b"ok"] * 50)
    slow = np.arange(10.0)
    mdf = asammdf.MDF(version="4.10")
    mdf.append(
        [
            asammdf.Signal(samples=SPEED, timestamps=FAST, name="Speed\\Brake:1", unit="rpm"),
            asammdf.Signal(samples=98.2 + FAST, timestamps=FAST, name="Torque", unit="Nm"),
            asammdf.Signal(samples=states, timestamps=FAST, name="State", encoding="utf-8"),
        ],
        acq_name="fast",
    )
    raw = np.arange(10, dtype=np.uint8)
    conversion = {"a": 2.0, "b": 1.0}
    mdf.append(
        [asammdf.Signal(samples=raw, timestamps=slow, name="Speed\\ECU:2", unit="1/min", conversion=conversion)],
        acq_name="slow",
    )
    buffer = io.BytesIO()
    mdf.save(buffer)
    mdf.close()
    return buffer.getvalue()


@pytest.fixture(scope="module")
def contents(recording: bytes) -> FileContents:
    return read_tables(recording, "a1.mf4")


def test_each_channel_group_is_a_table_with_its_time_first(contents: FileContents) -> None:
    fast, slow = contents.tables
    assert (fast.names, fast.units) == (("time", "Speed", "Torque"), ("s", "rpm", "Nm"))
    assert [column.tolist() for column in fast.columns] == [FAST.tolist(), SPEED.tolist(), (98.2 + FAST).tolist()]
    assert fast.rows.tolist() == list(range(1, 51))
    assert (fast.sheet, slow.sheet) == ("fast", "slow")
    assert contents.source.layout == "MDF 4.10, 2 channel groups with samples"


def test_a_channel_name_may_stand_in_many_groups_and_keeps_its_full_name_in_the_doubts(contents: FileContents) -> None:
    fast, slow = contents.tables
    assert "Speed" in fast.names
    assert "Speed" in slow.names
    assert "channel 'Speed' is called 'Speed\\Brake:1' in the file" in fast.doubts
    assert "channel 'State' holds no plain numbers and was left out" in fast.doubts


def test_conversions_of_the_file_are_applied(contents: FileContents) -> None:
    slow = contents.tables[1]
    assert slow.columns[1].tolist() == [2.0 * raw + 1.0 for raw in range(10)]  # the linear conversion written above


def test_the_library_that_is_not_installed_is_named_with_the_command(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(FileRefusedError, match=r"pip install 'pullbook\[mdf\]'"):
        read_tables(b"MDF     4.10    " + bytes(200), "a1.mf4")


@pytest.mark.parametrize("part", [0.05, 0.4, 0.8])
def test_a_file_cut_off_is_refused(recording: bytes, part: float) -> None:
    with pytest.raises(FileRefusedError, match=r"damaged|cut off"):
        read_tables(recording[: int(part * len(recording))], "a1.mf4")


def test_links_in_a_circle_are_refused_at_once(recording: bytes) -> None:
    data = bytearray(recording)
    group = int.from_bytes(data[64 + 24 : 64 + 32], "little")  # HD: first link is the first DG block (ASAM MDF 4.1)
    data[group + 24 : group + 32] = group.to_bytes(8, "little")  # DG: first link is the next DG block
    with pytest.raises(FileRefusedError, match="damaged or cut off"):
        read_tables(bytes(data), "a1.mf4")


def test_a_library_that_hangs_or_crashes_ends_in_a_sentence(recording: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measurement, "_SECONDS", 0.0)  # the process of its own is stopped at once
    with pytest.raises(FileRefusedError, match="damaged, cut off or too large"):
        read_tables(recording, "a1.mf4")


def test_an_obd_drive_has_its_engine_speed(shared_data: Path) -> None:
    """891 to 3158 rpm by PID 0C: README of the data."""
    pytest.importorskip("asammdf", reason="the mdf extra is not installed")
    tables = read_tables((shared_data / "bus-logs" / "obd-drive.mf4").read_bytes(), "obd.mf4").tables
    speeds = [table for table in tables if "Engine speed" in table.names]
    assert len(speeds) == 1
    assert speeds[0].units == ("s", "rpm")
    assert int(speeds[0].columns[1].min()) == 891
    assert int(speeds[0].columns[1].max()) == 3158
    assert len({table.sheet for table in tables}) == len(tables)


def test_a_stationary_truck_has_engine_speed_that_is_all_zero(shared_data: Path) -> None:
    """Engine speed present but all zero: README of the data."""
    pytest.importorskip("asammdf", reason="the mdf extra is not installed")
    (table,) = read_tables((shared_data / "bus-logs" / "truck-bus-stationary.mf4").read_bytes(), "truck.mf4").tables
    speed = table.columns[table.names.index("Engine speed")]
    assert len(speed) > 1000
    assert not speed.any()
    assert "the logger did not finish this file; its end may be missing" in table.doubts


def frames(*rows: tuple[int, str]) -> Frames:
    return Frames(
        time=np.arange(float(len(rows))),
        number=np.array([number for number, _ in rows]),
        payload=np.array([list(bytes.fromhex(text)) for _, text in rows], dtype=np.uint8),
    )


@pytest.mark.parametrize(
    ("answer", "name", "value"),
    [
        ("0441 0C 1A F8 000000", "Engine speed", 1726.0),  # (256 x 26 + 248) / 4, SAE J1979 (from memory)
        ("0341 05 7B 00000000", "Coolant temperature", 83.0),  # A - 40
        ("0341 0B 65 00000000", "Intake manifold pressure", 101.0),  # A
        ("0441 10 01 F4 000000", "Mass air flow", 5.0),  # (256 A + B) / 100
        ("0341 11 FF 00000000", "Throttle position", 100.0),  # 100 A / 255
        ("0341 04 33 00000000", "Calculated load", 20.0),  # 100 A / 255
        ("0341 0F 28 00000000", "Intake air temperature", 0.0),  # A - 40
        ("0341 33 62 00000000", "Barometric pressure", 98.0),  # A
    ],
)
def test_obd_answers_follow_the_formulas_of_the_standard(answer: str, name: str, value: float) -> None:
    (table,) = decoded(frames((0x100, "00" * 8), (0x7E8, answer)), "bus")
    assert table.names == ("Time", name)
    assert table.columns[1].tolist() == [pytest.approx(value, rel=1e-12)]
    assert table.rows.tolist() == [2]


def test_requests_and_answers_of_other_services_are_no_measurements() -> None:
    assert list(decoded(frames((0x7DF, "02010C0000000000"), (0x7E8, "037F011200000000")), "bus")) == []


def test_engine_controller_broadcast_of_a_truck() -> None:
    """24000 x 0.125 = 3000 rpm: SAE J1939-71, SPN 190 (from memory). FFFF means not available."""
    (table,) = decoded(frames((0x0CF00400, "F07D87C05D00F47D"), (0x0CF00400, "F07D7DFFFF00F47D")), "bus")
    assert table.names == ("Time", "Engine speed", "Actual engine torque of reference")
    assert table.columns[1][0] == 3000.0
    assert np.isnan(table.columns[1][1])
    assert table.columns[2].tolist() == [10.0, 0.0]  # 0x87 = 135, 135 - 125 = 10 %
