"""The text of a session file becomes a `Draft`, whatever is wrong in it."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, cast

from pullbook.capture.session_file_problems import judged
from pullbook.capture.session_plain import json_value
from pullbook.errors import SessionFileError
from pullbook.quantities.toml_text import load_toml
from pullbook.records.draft import Draft

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["read_draft", "revision_of"]


def revision_of(text: str) -> str:
    """What tells a text from every other: the first 16 digits of the SHA-256 of its bytes."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def read_draft(text: str) -> Draft:
    r"""A session file as it stands, sound or not.

    Parameters
    ----------
    text : str
        The whole file.

    Returns
    -------
    Draft
        Its values, as far as it is TOML, and its problems; never an error.

    Examples
    --------
    >>> draft = read_draft('[session]\ntitle = "One header"\n')
    >>> draft.values, draft.session is None, draft.problems[-1].at
    ({'session': {'title': 'One header'}}, True, 'session.standard')
    """
    session, problems = judged(text)
    return Draft(text=text, revision=revision_of(text), values=_values(text), problems=problems, session=session)


def _values(text: str) -> Mapping[str, object]:
    try:
        return cast("Mapping[str, object]", json_value(load_toml(text, where="session.toml")))
    except SessionFileError:
        return {}
