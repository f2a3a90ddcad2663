"""A file as it was understood, in the form of a card: plain data that a page shows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pullbook.app.captured_json import captured_as_json, error_as_json, pull_in_words, question_as_json
from pullbook.app.read_pulls import only_pull
from pullbook.app.thumbnail import thumbnail
from pullbook.capture.stated_time import stated_time
from pullbook.errors import PullbookError
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.app.read_pulls import CapturedFile
    from pullbook.errors import Question
    from pullbook.records.declaration import Air
    from pullbook.records.pull import Pull

__all__ = ["as_card", "refused_card"]


def refused_card(name: str, error: PullbookError) -> dict[str, Any]:
    """Card of a file of which nothing could be read."""
    return _empty(name) | {"refused": error_as_json(error), "questions": _asked(list(error.questions))}


def _empty(name: str) -> dict[str, Any]:
    return {
        "file": name, "sha256": "", "size": 0, "layout": "", "layout_id": "", "tables": [], "pulls": [],
        "questions": [], "already": {}, "remarks": [], "air": {}, "time": "",
        "columns": {}, "received": "",
    }  # fmt: skip


def as_card(captured: CapturedFile) -> dict[str, Any]:
    """Card of a file that was read; ``layout_id`` and ``already`` are filled in by whoever knows them."""
    name = captured.source.name
    card = _empty(name) | captured_as_json([(name, captured)])[0]
    refused = _refusal(captured)
    if refused is not None:
        card["refused"] = error_as_json(refused)
    card["pulls"] = [_pull(which, pull) for which, pull in enumerate(captured.pulls, start=1)]
    card["questions"] = _asked(_questions(captured))
    card["air"] = _air(captured)
    card["time"] = _time(captured)
    return card


def _refusal(captured: CapturedFile) -> PullbookError | None:
    """Why no pull of the file can be compared."""
    try:
        only_pull(captured, 1, captured.source.name)
    except PullbookError as error:
        return error
    return None


def _questions(captured: CapturedFile) -> list[Question]:
    """What has to be answered, where no table is understood; else what could be, of the tables that hold pulls."""
    if captured.refused is not None:
        return list(captured.refused.questions)
    logs = [table.log for table in captured.tables if table.log is not None and table.refused is None]
    return [question for log in logs for question in log.questions]


def _asked(questions: list[Question]) -> list[dict[str, object]]:
    return [question_as_json(question) for question in dict.fromkeys(questions)]


def _pull(which: int, pull: Pull) -> dict[str, Any]:
    speed = pull.channels[Channel.SPEED]
    return {
        "which": which,
        "name": pull.name,
        "says": pull_in_words(pull, UnitSystem.METRIC),
        "direction": str(pull.direction),
        "first_row": int(pull.rows[0]),
        "last_row": int(pull.rows[-1]),
        "samples": int(speed.size),
        "torque": str(pull.torque_kind),
        "doubts": list(pull.doubts),
        "fingerprint": pull.fingerprint,
        "curve": thumbnail(pull),
    }


def _air(captured: CapturedFile) -> dict[str, float]:
    """Weather that the file states outside its tables, in SI."""
    airs: list[Air] = [table.log.air for table in captured.tables if table.log is not None]
    stated = airs[0] if airs else None
    if stated is None:
        return {}
    pairs = (("temperature", stated.temperature), ("pressure", stated.pressure), ("humidity", stated.humidity))
    return {key: value for key, value in pairs if value is not None}


def _time(captured: CapturedFile) -> str:
    """When the file says that it was recorded, in ISO 8601; empty where it does not or contradicts itself."""
    notes = dict.fromkeys(note for table in captured.tables if table.log is not None for note in table.log.notes)
    found = stated_time(tuple(notes))
    return "" if found is None else found.isoformat()
