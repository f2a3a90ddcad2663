"""`stated`: text as HTML in which every quantity can be asked where it comes from."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.publish.typeset import marked, typeset

if TYPE_CHECKING:
    from markupsafe import Markup

__all__ = ["stated"]

_NUMBER: Final = "[+\u2212]?\\d[\\d,]*(?:\\.\\d+)?"
_UNIT: Final = "(?:N\u00a0m|lb\u00a0ft|kW|hp|%|(?P<speed>rpm))(?!\\w)"
_QUANTITY: Final = re.compile(
    f"(?<![\\w.,\u2212+-]){_NUMBER}(?:\u00a0\u00b1\u00a0{_NUMBER})?(?: (?:to|and) {_NUMBER})?\u00a0{_UNIT}"
    f"(?: \\({_NUMBER} to {_NUMBER}\\))?"
)


def stated(text: str, href: str = "") -> Markup:
    r"""Typeset text in which every number with a unit is marked, and one of them leads to its origin.

    That one is the first that is no engine speed, else the first: one link for each statement is enough for the
    keyboard and for those who listen; the script lets a pointer take any of them.

    Parameters
    ----------
    text : str
        Plain text.
    href : str
        Address of the origin; empty where another number of the same statement leads there.

    Returns
    -------
    Markup
        Escaped text with elements of class "q".

    Examples
    --------
    >>> print(str(stated("At 3,350 rpm B gains 5.3 ± 5.1 N m.", "#origin-1")).replace("\xa0", "~"))
    At <span class="q">3,350~rpm</span> B gains <a class="q" href="#origin-1">5.3~±~5.1~N~m</a>.
    """
    from markupsafe import Markup

    whole = typeset(text)
    found = list(_QUANTITY.finditer(whole))
    chosen = next((one for one in found if not one.group("speed")), found[0] if found else None)
    parts, reached = [Markup()], 0
    for one in found:
        leads = bool(href) and one is chosen
        begin = Markup('<a class="q" href="{}">').format(href) if leads else Markup('<span class="q">')
        end = Markup("</a>") if leads else Markup("</span>")
        parts += [marked(whole[reached : one.start()]), begin, marked(one.group()), end]
        reached = one.end()
    return Markup().join([*parts, marked(whole[reached:])])
