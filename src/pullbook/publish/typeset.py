"""Typography of the page: minus signs, spaces that do not break, ranges."""

from __future__ import annotations

import re
from html import escape
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from markupsafe import Markup

__all__ = ["marked", "typeset"]

_MINUS: Final = re.compile(r"(?<![\w.])-(?=\d)")
_PARTED: Final = re.compile(r"\d+(?:-\d+)+")  # 4-2-1 is one word
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


def marked(text: str) -> Markup:
    """Typeset text as HTML in which numbers with dashes, as in 4-2-1, stay on one line.

    Examples
    --------
    >>> str(marked("<b> 4-2-1"))
    '&lt;b&gt; <span class="nb">4-2-1</span>'
    """
    from markupsafe import Markup

    safe = _PARTED.sub(r'<span class="nb">\g<0></span>', escape(typeset(text)))
    return Markup(safe)  # noqa: S704 - escaped in the line above
