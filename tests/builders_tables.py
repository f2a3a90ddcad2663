"""Tables and logs made by hand for the tests of capture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from pullbook.quantities.channels import Channel
from pullbook.records.declaration import ColumnRule
from pullbook.records.pull import ColumnChoice, Log, TorqueKind
from pullbook.records.table import RawTable, SourceFile

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from pullbook.quantities.arrays import FloatArray

__all__ = ["SOURCE", "TORQUE", "curve_speed", "make_log", "make_table", "read_real", "rule", "torque_curve"]

SOURCE = SourceFile(name="pulls/a1.csv", sha256="0" * 64, size=1000, layout="by hand")


def make_table(columns: Mapping[tuple[str, str], Any], **changes: Any) -> RawTable:
    """Table of columns given as ``(name, unit): values``."""
    arrays = tuple(np.asarray(values, dtype=np.float64) for values in columns.values())
    size = arrays[0].size
    return RawTable(
        names=tuple(name for name, _ in columns),
        units=tuple(unit for _, unit in columns),
        columns=arrays,
        rows=np.arange(2, 2 + size),
        **changes,
    )


def make_log(channels: Mapping[Channel, Any], **changes: Any) -> Log:
    """Log of channels in SI, each from a column of its own name."""
    arrays = {channel: np.asarray(values, dtype=np.float64) for channel, values in channels.items()}
    size = next(iter(arrays.values())).size
    fields: dict[str, Any] = {
        "choices": tuple(
            ColumnChoice(channel=channel, column=channel.value, unit="SI", reason="by hand") for channel in arrays
        ),
        "torque_kind": TorqueKind.MEASURED if Channel.TORQUE in arrays else TorqueKind.RELATIVE,
    }
    return Log(source=SOURCE, channels=arrays, rows=np.arange(2, 2 + size), **(fields | changes))


def rule(channel: Channel, column: str, unit: str = "") -> ColumnRule:
    """Tester's word on one column."""
    return ColumnRule(channel=channel, column=column, unit=unit)


def curve_speed(first: float = 2000.0, last: float = 6500.0, count: int = 91) -> FloatArray:
    """Evenly spaced engine speeds [rpm]."""
    return np.linspace(first, last, count)


def torque_curve(speed_rpm: FloatArray) -> FloatArray:
    """Plausible full-load torque of a 2.2 litre four [N m], a polynomial of the tests' own."""
    x = (np.asarray(speed_rpm) - 4500.0) / 2500.0
    return 215.0 - 38.0 * x**2 + 6.0 * x


TORQUE = torque_curve(curve_speed())


def read_real(path: Path, rules: Sequence[ColumnRule] = (), table: int = 0) -> Log:
    """Log of a real file, read with the project's own reader."""
    from pullbook.capture.mapping import understand
    from pullbook.capture.reader import read_tables

    contents = read_tables(path.read_bytes(), path.name)
    return understand(contents.source, contents.tables[table], tuple(rules))
