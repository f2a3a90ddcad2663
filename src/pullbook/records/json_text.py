"""JSON as pullbook writes it: for people with one value on a line, for a page without a blank."""

from __future__ import annotations

import json

__all__ = ["compact_json", "json_text"]


def json_text(content: object) -> str:
    r"""Text of a JSON file, the same from the commands, in a report and from the routes.

    Parameters
    ----------
    content : object
        Plain data, without NaN.

    Examples
    --------
    >>> json_text({"says": "°"})
    '{\n "says": "°"\n}\n'
    """
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def compact_json(content: object) -> bytes:
    """Same content for a page, which nobody reads.

    Parameters
    ----------
    content : object
        Plain data, without NaN.

    Examples
    --------
    >>> compact_json({"a": [1, 2]})
    b'{"a":[1,2]}'
    """
    return json.dumps(content, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()
