"""Keys and values of a session file as a person writes them."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING

from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence


__all__ = ["key_text", "value_text"]


def key_text(key: str) -> str:
    """Key as it has to be written, in quotes where it needs them.

    Examples
    --------
    >>> key_text("runners"), key_text("inlet cam")
    ('runners', '"inlet cam"')
    """
    import tomlkit

    return tomlkit.key(key).as_string()


def value_text(value: object) -> str:
    r"""Value as a person writes it: lists and tables on one line, dates bare, text of several lines as such.

    Parameters
    ----------
    value : object
        Text, number, truth value, date, list or mapping.

    Returns
    -------
    str
        The TOML.

    Raises
    ------
    InputError
        If a session file has no place for such a value.

    Examples
    --------
    >>> value_text({"temperature": "24.1 degC", "pressure": "99.2 kPa"})
    '{ temperature = "24.1 degC", pressure = "99.2 kPa" }'
    >>> value_text(["340 mm", "260 mm"]), value_text(True)
    ('["340 mm", "260 mm"]', 'true')
    """
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool | int | float):
        import tomlkit

        return tomlkit.item(value).as_string()
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, dict):
        pairs = [f"{key_text(key)} = {value_text(below)}" for key, below in value.items() if below is not None]
        return _table(pairs)
    if isinstance(value, list | tuple):
        return f"[{', '.join(value_text(below) for below in value)}]"
    raise InputError("a session file has no such value", value=str(value), remedy="write text, a number or a list")


def _text(value: str) -> str:
    import tomlkit

    value = value.replace("\r\n", "\n").strip()
    if "\n" not in value:
        return tomlkit.string(value).as_string()
    lines = (tomlkit.string(line).as_string()[1:-1] for line in value.split("\n"))
    return '"""\n' + "\n".join(lines) + '"""'


def _table(pairs: Sequence[str]) -> str:
    return f"{{ {', '.join(pairs)} }}" if pairs else "{}"
