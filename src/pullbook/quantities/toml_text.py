"""TOML text as a mapping, with syntax errors said in the tester's words."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Final

from pullbook.errors import SessionFileError

if TYPE_CHECKING:
    from pullbook.errors import InputError

__all__ = ["load_toml"]

_PLACE: Final = re.compile(
    r"(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)", re.DOTALL
)
_DATED: Final = re.compile(r"=\s*\d+[-/.]\d+[-/.]")
_DATES: Final = "write dates as 2026-05-04 and times as 2026-05-04T09:12:00, without quotes"
_OTHER: Final = "correct the line; the format is TOML"
_QUOTES: Final = 'put text and quantities between double quotes, as in pressure = "99.2 kPa"'
_REMEDIES: Final[tuple[tuple[str, str], ...]] = (
    ("Unescaped '\\'", "write paths with forward slashes, as in 'pulls/a1.csv'"),
    ("Cannot overwrite", "each key may stand once in its table"),
    ("twice", "write the table once; pulls, builds, factors and claims have double brackets, as in [[pull]]"),
    ("Invalid date", _DATES),
    ("Expected newline", _QUOTES),
    ("Invalid value", _QUOTES),
    ("Expected '='", "write key = value on one line"),
    ("Illegal character", "close the double quotes on the same line"),
    ("Unterminated", "close the quotes"),
    ("Expected ']'", "close the bracket"),
)
_SHOWN: Final = 80


def load_toml(text: str, *, where: str, error: type[InputError] = SessionFileError) -> dict[str, object]:
    r"""Mapping that a TOML text stands for.

    Parameters
    ----------
    text : str
        The file, with or without a byte-order mark.
    where : str
        Name of the file, for the message.
    error : subclass of InputError
        Error that is raised about the file.

    Returns
    -------
    dict of str to object
        Tables, lists, text, numbers and dates as `tomllib` makes them.

    Raises
    ------
    InputError
        Of the given class, if the text is not TOML; line and column are named, and the line is shown.

    Examples
    --------
    >>> load_toml('[session]\ntitle = "Runners"', where="session.toml")
    {'session': {'title': 'Runners'}}
    """
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as wrong:
        raise _syntax_error(str(wrong), text, where, error) from None
    except (ValueError, RecursionError) as wrong:  # a number of thousands of digits; brackets nested without end
        reason = "brackets are nested too deeply" if isinstance(wrong, RecursionError) else "a number is far too long"
        remedy = f"write the file as in the reference of {where}"
        raise error(f"this file cannot be read: {reason}", where=where, remedy=remedy) from None


def _syntax_error(message: str, text: str, where: str, error: type[InputError]) -> InputError:
    found = _PLACE.fullmatch(message)
    what = found["what"] if found else message
    lines = text.splitlines() or [""]
    row, column = len(lines), len(lines[-1]) + 1
    if found and found["line"]:
        row, column = int(found["line"]), int(found["column"])
    shown = "".join(c if c.isprintable() else " " for c in lines[row - 1]).strip() if row <= len(lines) else ""
    remedy = _DATES if _DATED.search(shown) else next((remedy for start, remedy in _REMEDIES if start in what), _OTHER)
    return error(
        f"this is not TOML: {what[:1].lower()}{what[1:]}",
        where=f"{where}: line {row}, column {column}",
        value=shown[:_SHOWN] + ("..." if len(shown) > _SHOWN else ""),
        remedy=remedy,
    )
