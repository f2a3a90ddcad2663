"""From every number of the findings back to file, row and recipe."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.records.codec_numbers import number
from pullbook.records.taught import taught_json

if TYPE_CHECKING:
    from pullbook.records.codec_numbers import JsonObject
    from pullbook.records.corrected import CorrectedPull
    from pullbook.records.result import PullStatus, SessionResult
    from pullbook.records.table import SourceFile

__all__ = ["provenance_json"]


def provenance_json(result: SessionResult) -> JsonObject:
    """Files by name, then pulls in run order with what was done to each.

    Parameters
    ----------
    result : SessionResult
        Result.
    """
    files = {status.pull.source.name: status.pull.source for status in result.pulls}
    return {
        "files": [_file(files[name]) for name in sorted(files)],
        "pulls": [_pull(status) for status in result.pulls],
        **({} if result.taught is None else {"history": taught_json(result.taught)}),
    }


def _file(source: SourceFile) -> JsonObject:
    return {"name": source.name, "sha256": source.sha256, "bytes": source.size, "layout": source.layout}


def _pull(status: PullStatus) -> JsonObject:
    pull, corrected = status.pull, status.corrected
    rows = corrected.rows
    return {
        "pull": pull.name,
        "file": pull.source.name,
        "build": status.build,
        "fitting": status.fitting,
        "time_s": number(status.time),
        "clock": status.clock,
        "used": status.used,
        "because": status.because,
        "direction": str(pull.direction),
        "torque_kind": str(pull.torque_kind),
        "fingerprint": pull.fingerprint,
        "first_row": int(rows.min()) if rows.size else None,
        "last_row": int(rows.max()) if rows.size else None,
        "samples": int(rows.size),
        "columns": [
            {"channel": str(choice.channel), "column": choice.column, "unit": choice.unit, "reason": choice.reason}
            for choice in pull.choices
        ],
        "standard": str(corrected.standard),
        "recipe": _recipe(corrected),
        "flags": list(corrected.flags),
        "doubts": list(pull.doubts),
    }


def _recipe(corrected: CorrectedPull) -> list[JsonObject]:
    return [
        {"name": step.name, "value": number(step.value), "unit": step.unit, "source": step.source}
        for step in corrected.steps
    ]
