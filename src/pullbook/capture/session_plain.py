"""Values of a session file as JSON has them."""

from __future__ import annotations

import math
from datetime import date, datetime, time
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["json_value"]


def json_value(value: object) -> object:
    """Value with dates and times as ISO text, and numbers that are none as text.

    Examples
    --------
    >>> from datetime import date
    >>> json_value({"date": date(2026, 5, 4), "windows": ("2500..3500 rpm",)})
    {'date': '2026-05-04', 'windows': ['2500..3500 rpm']}
    """
    if isinstance(value, dict):
        return {str(key): json_value(below) for key, below in cast("Mapping[object, object]", value).items()}
    if isinstance(value, list | tuple):
        return [json_value(below) for below in cast("Sequence[object]", value)]
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value
