"""An outlook as JSON, in the form ``pullbook.next/1``.

The published schema is ``docs/next.schema.json``; a test holds it to this code. Times in minutes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pullbook
from pullbook.records.codec_numbers import WRITTEN_UNITS, number

if TYPE_CHECKING:
    from pullbook.records.codec_numbers import JsonObject
    from pullbook.records.outlook import Choice, Outlook, Standing

__all__ = ["NEXT_SCHEMA", "outlook_to_json"]

NEXT_SCHEMA: Final = "pullbook.next/1"


def outlook_to_json(outlook: Outlook) -> JsonObject:
    """What ``pullbook plan --next --json`` writes.

    Parameters
    ----------
    outlook : Outlook
        The session in the middle. [s, 1]

    Returns
    -------
    dict
        Only dicts, lists, strings, booleans, numbers and None. Times in minutes.
    """
    open_ = [one.target for one in outlook.open]
    return {
        "schema": NEXT_SCHEMA,
        "program": {"name": "pullbook", "version": pullbook.__version__},
        "session": outlook.title,
        "made": outlook.made,
        "planned": outlook.planned,
        "looks": list(outlook.looks),
        "confidence": number(outlook.confidence),
        "stop": outlook.stop or None,
        "questions": [_standing(one) for one in outlook.standings],
        "choices": [_choice(one, open_) for one in outlook.choices],
        "assumptions": list(outlook.assumptions),
    }


def _standing(one: Standing) -> JsonObject:
    unit, factor = WRITTEN_UNITS[one.unit]
    return {
        "target": one.target,
        "state": str(one.state),
        "answer": one.answer or None,
        "value": number(one.value * factor),
        "low": number(one.low * factor),
        "high": number(one.high * factor),
        "unit": unit,
    }


def _choice(one: Choice, open_: list[str]) -> JsonObject:
    return {
        "steps": [{"build": build, "pulls": count} for build, count in one.steps],
        "changes": one.changes,
        "pulls": one.pulls,
        "minutes": number(one.seconds / 60.0),
        "odds": {name: number(odds) for name, odds in zip(open_, one.odds, strict=True)},
        "as_planned": one.planned,
    }
