"""Typography of the page: minus signs, spaces that do not break, ranges."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["typeset"]

_MINUS: Final = re.compile(r"(?<![\w.])-(?=\d)")
_UNIT: Final = re.compile(r"(?<=\d) (?=(?:N m|kW|hp|lb ft|rpm|%|kg m|K|°)(?:\W|$))")


def typeset(text: str) -> str:
    r"""Plain text with a true minus before numbers, and number and unit kept on one line.

    Examples
    --------
    >>> typeset("-0.7 to 1.9 N m").replace("\xa0", "~")
    '\u22120.7 to 1.9~N~m'
    """
    text = _MINUS.sub("\u2212", text)
    text = _UNIT.sub("\u00a0", text)
    return text.replace("N m", "N\u00a0m").replace("lb ft", "lb\u00a0ft").replace(" \u00b1 ", "\u00a0\u00b1\u00a0")
