"""The name under which an offered file is stored: pullbook's own, made of letters, digits and dashes."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Container

__all__ = ["ENDINGS", "free_name", "safe_name"]

ENDINGS: Final = frozenset(
    {".asc", ".csv", ".dat", ".log", ".mdf", ".mf4", ".ods", ".prn", ".tab", ".tsv", ".txt", ".xls", ".xlsx"}
)
"""Endings that a stored file keeps; what a file is, its first bytes tell, never its name."""

_LONGEST: Final = 60
_OTHERS: Final = re.compile(r"[^A-Za-z0-9]+")
# Names that Windows gives to devices, whatever the ending.
_DEVICES: Final = re.compile(r"(?:con|prn|aux|nul|clock|conin|conout|com[0-9]|lpt[0-9])", re.IGNORECASE)
_SPELT_OUT: Final = str.maketrans({"ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d"})


def safe_name(offered: str) -> str:
    r"""Name of a file that no system takes for anything but a file in the folder where it is put.

    Parameters
    ----------
    offered : str
        Name as a browser sends it; it may be a path, of any system.

    Returns
    -------
    str
        Letters, digits and dashes, and one of `ENDINGS`.

    Examples
    --------
    >>> safe_name("Läufe/Prüfstand 3_neu.CSV"), safe_name("C:\\fakepath\\con.txt"), safe_name("../../etc/passwd")
    ('Prufstand-3-neu.csv', 'pull-con.txt', 'passwd.dat')
    """
    last = re.split(r"[/\\]", offered.rstrip("/\\ ."))[-1]
    stem, dot, ending = last.rpartition(".")
    known = f".{ending.lower()}" if dot else ""
    if known not in ENDINGS:
        stem, known = last, ".dat"
    plain = unicodedata.normalize("NFKD", stem.translate(_SPELT_OUT)).encode("ascii", "ignore").decode("ascii")
    words = _OTHERS.sub("-", plain).strip("-")[:_LONGEST].strip("-")
    if not words or _DEVICES.fullmatch(words):
        words = f"pull-{words}".strip("-")
    return words + known


def free_name(name: str, taken: Container[str]) -> str:
    """The name, or with -2, -3 and so on behind it where a file has it already.

    Parameters
    ----------
    name : str
        From `safe_name`.
    taken : container of str
        Names in use, in lower case, because some systems do not tell the cases apart.

    Examples
    --------
    >>> free_name("A1.csv", {"a1.csv", "a1-2.csv"})
    'A1-3.csv'
    """
    stem, dot, ending = name.rpartition(".")
    number, candidate = 1, name
    while candidate.lower() in taken:
        number += 1
        candidate = f"{stem}-{number}{dot}{ending}"
    return candidate
