"""What was understood of a file, as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.errors import PullbookError
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.showing import show_range

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.read_pulls import CapturedFile, CapturedTable
    from pullbook.errors import Question
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.pull import Pull

__all__ = ["captured_as_json", "error_as_json", "pull_in_words", "question_as_json"]


def captured_as_json(results: Sequence[tuple[str, CapturedFile | PullbookError]]) -> list[dict[str, object]]:
    """Plain data of what was understood, in SI."""
    return [_file_as_json(name, result) for name, result in results]


def error_as_json(error: PullbookError) -> dict[str, str]:
    """What, where, value and remedy of a refusal."""
    return {"what": error.what, "where": error.where, "value": error.value, "remedy": error.remedy}


def pull_in_words(pull: Pull, system: UnitSystem) -> str:
    """Direction, speeds, rows, samples and kind of a pull."""
    speed = pull.channels[Channel.SPEED]
    rows = f"rows {int(pull.rows[0]):,} to {int(pull.rows[-1]):,}"
    times = pull.channels.get(Channel.TIME)
    lasting = ""
    if times is not None and times.size > 1 and np.isfinite(times[[0, -1]]).all():
        lasting = f", {float(times[-1] - times[0]):.1f} s"
    kind = "a signal without calibration: per cent only" if pull.torque_kind == "relative" else "torque"
    span = show_range(float(np.nanmin(speed)), float(np.nanmax(speed)), Channel.SPEED, system)
    return f"{pull.direction}, {span}, {rows}, {speed.size:,} samples{lasting}, {kind}"


def question_as_json(question: Question) -> dict[str, object]:
    """What is asked, and every answer as the rules that it means."""
    return {
        "channel": question.about,
        "says": question.says,
        "needed": question.needed,
        "doubt": question.doubt,
        "choices": [
            {
                "says": choice.says,
                "column": choice.columns[0][1] if choice.columns else "",
                "unit": choice.columns[0][2] if choice.columns else "",
                "columns": {channel: {"column": column, "unit": unit} for channel, column, unit in choice.columns},
                "received": choice.received,
            }
            for choice in question.choices
        ],
        "others": [{"column": column, "unit": unit} for column, unit in question.others],
        "units": list(question.units),
    }


def _file_as_json(name: str, result: CapturedFile | PullbookError) -> dict[str, object]:
    if isinstance(result, PullbookError):
        return {"file": name, "refused": error_as_json(result)}
    source = result.source
    refused: dict[str, object] = {"refused": error_as_json(result.refused)} if result.refused else {}
    return refused | {
        "file": name, "sha256": source.sha256, "size": source.size, "layout": source.layout,
        "tables": [_table_as_json(table) for table in result.tables],
    }  # fmt: skip


def _table_as_json(table: CapturedTable) -> dict[str, object]:
    plain: dict[str, object] = {"sheet": table.sheet, "records": table.rows}
    if table.refused is not None:
        plain["refused"] = error_as_json(table.refused)
    if table.log is None:
        return plain
    found = table.segmentation
    choices = [
        {
            "channel": str(choice.channel), "column": choice.column, "unit": choice.unit, "because": choice.reason,
            "dimension": str(CHANNELS[choice.channel].dimension),
        }
        for choice in table.log.choices
    ]  # fmt: skip
    return plain | {
        "channels": choices,
        "not_used": list(table.log.ignored),
        "doubts": list(table.log.doubts),
        "pulls": [
            {
                "name": pull.name, "direction": str(pull.direction), "first_row": int(pull.rows[0]),
                "last_row": int(pull.rows[-1]), "samples": len(pull.rows), "torque": str(pull.torque_kind),
                "doubts": list(pull.doubts),
            }
            for pull in (found.pulls if found else ())
        ],
        "set_aside": [aside.says for aside in (found.set_aside if found else ())],
    }  # fmt: skip
