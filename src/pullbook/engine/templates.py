"""Three invented engines as engine files to start from."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

from pullbook.errors import InputError
from pullbook.quantities.toml_table import nearest

__all__ = ["TEMPLATES", "template_text"]

TEMPLATES: Final[dict[str, str]] = {
    "inline-four": "2.2 litres, four valves a cylinder, tuned runners, a four-into-one header",
    "v8-cross-plane": "5.8 litres, two valves a cylinder, four barrels, two four-into-one headers",
    "single": "450 cm3, four valves, an air box, a stepped pipe with a silencer",
}
"""Name of each engine and what it is."""


def template_text(name: str) -> str:
    """Text of the engine file of an invented engine, complete and with remarks.

    Parameters
    ----------
    name : str
        One of `TEMPLATES`.

    Returns
    -------
    str
        TOML.

    Raises
    ------
    InputError
        If there is no such engine; the nearest one is named.

    Examples
    --------
    >>> template_text("single").splitlines()[0][:33]
    '# An invented single of 450 cm3: '
    """
    if name not in TEMPLATES:
        raise InputError("there is no such engine", where="--like", value=name, remedy=nearest(name, list(TEMPLATES)))
    return files("pullbook.engine").joinpath("examples", f"{name}.toml").read_text(encoding="utf-8")
