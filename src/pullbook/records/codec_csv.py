"""curves.csv: the curves of a session as one tidy table that any program reads."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.records.codec_curves import units_of
from pullbook.records.codec_numbers import number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.curve import CurveBand
    from pullbook.records.result import SessionResult

__all__ = ["curves_to_csv", "safe_cell"]

# Blanks and invisible characters, which a spreadsheet passes over, and the signs that begin a formula, in either width.
_PASSED_OVER: Final = r"\s\x00-\x1f\x7f-\x9f\xad\u034f\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
_FORMULA: Final = re.compile(f"[{_PASSED_OVER}]*[=+@\\uff0b\\uff0d\\uff1d\\uff20-]")
_END: Final = re.compile("([;\t\r\n])")
_KW: Final = 1000.0


def safe_cell(text: str) -> str:
    """Text that a spreadsheet will not take for a formula: an apostrophe is put before a suspicious beginning.

    Suspicious are ``= + - @`` and their wide forms, behind blanks and invisible characters too, and a tab or a line
    break at the start. They are as suspicious behind a semicolon, a tab or a line break within the text, because where
    a comma is the decimal mark a spreadsheet takes these, not commas, for the ends of cells.

    Parameters
    ----------
    text : str
        What somebody wrote.

    Examples
    --------
    >>> safe_cell("=2+2"), safe_cell("long runners"), safe_cell("long;=2+2")
    ("'=2+2", 'long runners', "long;'=2+2")
    """
    safe = "".join(f"'{piece}" if _FORMULA.match(piece) else piece for piece in _END.split(text))
    return f"'{safe}" if text.startswith(("\t", "\r", "\n")) else safe


def curves_to_csv(result: SessionResult) -> str:
    """One row for each speed of each build and each difference.

    Columns: ``curve`` ("build" or "difference"), ``of``, ``from`` (empty for a build), ``rpm``, then mean, low and high
    of torque, of power, and for differences of the gain in per cent. Units stand in the header; cells are empty where
    nothing was measured or no doubt can be stated; decimal point, comma between cells, lines end with CR LF (RFC 4180).

    Parameters
    ----------
    result : SessionResult
        A session with its findings.

    Returns
    -------
    str
        The table. Torque in N m (per cent in a relative session), power in kW, speed in rpm.
    """
    findings = result.findings
    units = units_of(findings)
    parts = ("mean", "low", "high")
    torque = [f"torque {part} [{units.torque}]" for part in parts]
    power = [f"power {part} [kW]" for part in parts] if units.has_power else []
    percent = [f"gain {part} [%]" for part in parts]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(["curve", "of", "from", "rpm [rpm]", *torque, *power, *percent])
    for build in findings.builds:
        columns = [
            *_columns(build.torque),
            *(_columns(build.power, _KW) if units.has_power else []),
            *_nothing(findings.grid_rpm),
        ]
        writer.writerows(_rows(("build", build.name, ""), findings.grid_rpm, columns))
    for gain in findings.differences:
        columns = [
            *_columns(gain.torque),
            *(_columns(gain.power, _KW) if units.has_power else []),
            *_columns(gain.percent),
        ]
        writer.writerows(_rows(("difference", gain.of, gain.from_), findings.grid_rpm, columns))
    return text.getvalue()


def _columns(curve: CurveBand | None, scale: float = 1.0) -> list[FloatArray]:
    if curve is None:
        return [np.empty(0)] * 3
    return [curve.mean / scale, curve.low / scale, curve.high / scale]


def _nothing(grid_rpm: FloatArray) -> list[FloatArray]:
    return [np.full(grid_rpm.shape, np.nan)] * 3


def _rows(names: tuple[str, str, str], grid_rpm: FloatArray, columns: list[FloatArray]) -> Iterator[list[str]]:
    words = [safe_cell(name) for name in names]
    for at, speed in enumerate(grid_rpm.tolist()):
        cells = [_cell(column[at]) if at < column.size else "" for column in columns]
        yield [*words, _cell(speed), *cells]


def _cell(value: float) -> str:
    rounded = number(float(value))
    return "" if rounded is None else f"{rounded:.10g}"
