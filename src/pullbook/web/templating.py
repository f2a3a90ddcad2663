"""Templates of the working page, and the few words by which they write values."""

from __future__ import annotations

import hashlib
import json
import re
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from pullbook.publish.typeset import marked
from pullbook.web.remedies import remedy_on_page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jinja2 import Environment

__all__ = ["anchor", "environment", "limit_key", "prepare_templates", "sentence", "stamp", "written"]

_NOT_PLAIN: Final = re.compile(r"[^A-Za-z0-9]+")
LIMITS: Final = ("at_least", "at_most", "within")


@cache
def environment() -> Environment:
    """Templates of this package: everything is escaped, a name that is not there is an error."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    made = Environment(
        loader=FunctionLoader(_source), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.filters |= {
        "typeset": marked, "anchor": anchor, "written": written, "stamp": stamp, "limit_key": limit_key,
        "sentence": sentence, "on_page": remedy_on_page,
    }  # fmt: skip
    return made


def prepare_templates() -> None:
    """Compile every template, so that no reader waits for it."""
    folder = files("pullbook.web").joinpath("templates")
    for below, part in (("", folder), ("forms/", folder.joinpath("forms"))):
        for found in part.iterdir():
            if found.name.endswith(".j2"):
                environment().get_template(f"{below}{found.name}")


def _source(name: str) -> str:
    return files("pullbook.web").joinpath("templates", *name.split("/")).read_text(encoding="utf-8")


def anchor(path: str) -> str:
    """Key path or file name as a part of an id.

    Examples
    --------
    >>> anchor("pull[3].air.pressure")
    'pull-3-air-pressure'
    """
    plain = _NOT_PLAIN.sub("-", path).strip("-")
    if plain.replace("-", "") == re.sub(r"[\[\].\s/_-]", "", path):
        return plain
    return f"{plain}-{hashlib.sha256(path.encode('utf-8', 'surrogatepass')).hexdigest()[:6]}"


def written(value: object) -> str:
    r"""Value of a session file as a person types it into a field.

    Examples
    --------
    >>> written(["2500..3500 rpm", "5000..6500 rpm"]), written(True), written(3), written(None)
    ('2500..3500 rpm\n5000..6500 rpm', 'true', '3', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return "\n".join(written(part) for part in value)
    if isinstance(value, dict):
        return json.dumps(value, ensure_ascii=False)
    return str(value)


def sentence(text: str) -> str:
    """Words that begin a sentence.

    Examples
    --------
    >>> sentence("the unit is missing")
    'The unit is missing'
    """
    return text[:1].upper() + text[1:]


def stamp(value: object) -> str:
    """Short name of a value: the same for the same one."""
    return hashlib.sha256(repr(value).encode("utf-8", "surrogatepass")).hexdigest()[:12]


def limit_key(claim: Mapping[str, object]) -> str:
    """Which of the three numbers a claim has; "at_least" where it has none yet.

    Examples
    --------
    >>> limit_key({"within": "3 N m"})
    'within'
    """
    return next((key for key in LIMITS if key in claim), LIMITS[0])
