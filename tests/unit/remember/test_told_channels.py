"""Channels are told by the columns of their files, exactly; those that no column tells are kept as numbers."""

from __future__ import annotations

from typing import Final

import numpy as np
import pytest

from pullbook.records.archived import ChannelTable
from pullbook.remember.packing import columns_in, pack
from pullbook.remember.told_channels import channels_told, demand_told, tell_channels

RPM: Final = [2000 + 15 * k for k in range(60)]
TORQUE: Final = [round(180.0 - 0.01 * (k - 30) ** 2 + 0.37 * (k % 5), 2) for k in range(60)]
OIL: Final = [round(82.0 + 0.1 * (k % 7), 1) for k in range(60)]
FUEL: Final = [round(9.0 + 0.01 * k * k, 2) for k in range(60)]
TEXT: Final = ("Speed;Torque;Oil;Fuel\r\n" + "".join(
    f"{rpm};{torque:.2f};{oil:.1f};{fuel:.2f}\r\n".replace(".", ",")
    for rpm, torque, oil, fuel in zip(RPM, TORQUE, OIL, FUEL, strict=True)
)).encode()  # fmt: skip
FIRST: Final = 10  # row of the pull in the table, from 0; line 12 of the file


def pull(**changes: object) -> ChannelTable:
    """Rows 10 to 49 of the file in SI: degrees Celsius and kilograms an hour are not."""
    rows = slice(FIRST, 50)
    channels = {
        "speed": np.array(RPM[rows], dtype=float),
        "torque": np.array(TORQUE[rows]),
        "oil_temperature": np.array(OIL[rows]) + 273.15,
        "fuel_flow": np.array(FUEL[rows]) / 3600.0,
    }
    table = {"pull": "a1", "file": "a1.csv", "first_line": FIRST + 2, "channels": channels, **changes}
    return ChannelTable(**table)  # type: ignore[arg-type] # a test changes what it is about


def columns_of(name: str) -> object:
    """Columns of the one file there is."""
    return columns_in(pack(TEXT)) if name == "a1.csv" else None


def test_channels_come_back_from_the_columns_of_their_file() -> None:
    told, rest = tell_channels([pull()], columns_of)  # type: ignore[arg-type] # as above
    assert rest == []
    assert demand_told(told)[0]["channels"] == {
        "speed": [0, 1.0, 0.0], "torque": [1, 1.0, 0.0], "oil_temperature": [2, 1.0, 273.15],
        "fuel_flow": [3, 0.000277777777778, 0.0],  # 1 / 3600 to twelve digits
    }  # fmt: skip
    (back,) = channels_told(told, {"a1.csv": TEXT}.__getitem__)
    assert (back.pull, back.file, back.first_line) == ("a1", "a1.csv", 12)
    for name, values in pull().channels.items():
        assert back.channels[name] == pytest.approx(values, rel=1e-9), name


def test_what_no_column_tells_is_left_to_be_kept_as_numbers() -> None:
    crooked = {**pull().channels, "torque": pull().channels["torque"] ** 2, "spark": np.full(40, np.nan)}
    told, (rest,) = tell_channels([pull(channels=crooked)], columns_of)  # type: ignore[arg-type] # as above
    assert list(rest.channels) == ["torque", "spark"]
    assert list(demand_told(told)[0]["channels"]) == ["speed", "oil_temperature", "fuel_flow"]


@pytest.mark.parametrize("changes", [{"file": "b.xlsx"}, {"first_line": 0}, {"first_line": 1}, {"first_line": 30}])
def test_rows_that_are_no_lines_of_a_text_are_kept_as_numbers(changes: dict[str, object]) -> None:
    table = pull(**changes)
    told, rest = tell_channels([table], columns_of)  # type: ignore[arg-type] # as above
    assert told == b""
    assert [dict(one.channels) for one in rest] == [dict(table.channels)]


@pytest.mark.parametrize(
    "content",
    [b"[]", b'{"schema":"pullbook.channels/9","pulls":[]}', b'{"schema":"pullbook.channels/1"}', b"{", b"\xff"],
)
def test_channels_in_another_form_are_refused(content: bytes) -> None:
    with pytest.raises(ValueError, match=r"."):
        demand_told(content)
