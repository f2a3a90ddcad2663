"""Styles, scripts and the icon of the pages, each under an address that holds its hash: kept by a browser for good.

All of them are read once, when they are first asked for, and kept packed; nothing but these names can be asked for.
"""

from __future__ import annotations

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from importlib.resources.abc import Traversable

__all__ = ["LIBRARY", "SCRIPT", "STYLES", "Asset", "address", "asset", "known", "tag_of"]

LIBRARY: Final = "plotly.js"
SCRIPT: Final = "notebook.js"  # all modules of the working page
STYLES: Final = "notebook-all.css"  # all sheets of a page
COLOURS: Final = "colours.css"
_KINDS: Final = {
    ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml",
}  # fmt: skip
# Own folders by the name that stands first in the address.
_FOLDERS: Final = {"notebook": ("pullbook.web", "static"), "page": ("pullbook.publish", "static", "page")}
_LEVEL: Final = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Asset:
    """One file of the pages.

    Attributes
    ----------
    kind : str
        Media type.
    packed : bytes
        Its content as gzip.
    tag : str
        First digits of its hash.
    """

    kind: str
    packed: bytes
    tag: str


@cache
def known() -> dict[str, Traversable]:
    """Every file that can be asked for, by its name in the address."""
    found: dict[str, Traversable] = {}
    for first, (package, *below) in _FOLDERS.items():
        folder = files(package).joinpath(*below)
        if folder.is_dir():
            found |= {f"{first}/{one.name}": one for one in folder.iterdir() if _suffix(one.name) == ".js"}
    for package in ("pullbook.publish", "pullbook.web"):
        folder = files(package).joinpath("static")
        found |= {one.name: one for one in folder.iterdir() if _suffix(one.name) in {".css", ".svg"}}
    found[LIBRARY] = files("plotly").joinpath("package_data", "plotly.min.js")
    return found


@lru_cache(maxsize=256)
def asset(name: str) -> Asset | None:
    """File by its name; None where there is none of that name."""
    if name in _MADE:
        return _made(name, _MADE[name]())
    source = known().get(name)
    return None if source is None else _made(name, source.read_bytes())


def _made(name: str, content: bytes) -> Asset:
    # The scripts of the pages name each other without a hash, so that one hash has to stand for all of them.
    return Asset(
        kind=_KINDS[_suffix(name)], packed=gzip.compress(content, _LEVEL, mtime=0),
        tag=_tag(content),
    )  # fmt: skip


def _tag(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:12]


@cache
def _scripts_tag() -> str:
    digest = hashlib.sha256()
    for name in sorted(known()):
        if "/" in name:
            digest.update(name.encode() + b"\0" + known()[name].read_bytes())
    return digest.hexdigest()[:12]


@cache
def tag_of(name: str) -> str:
    """What stands in the address for the content: scripts that name each other share one.

    Nothing is packed for it: the chart library alone takes a fifth of a second, which the first page cannot wait for.
    """
    if "/" in name:
        return _scripts_tag()
    if name in _MADE:
        return _tag(_MADE[name]())
    source = known().get(name)
    return "" if source is None else _tag(source.read_bytes())


def address(name: str) -> str:
    """Address of a file with the hash of its content."""
    return f"/assets/{tag_of(name)}/{name}"


def _sheets() -> tuple[str, ...]:
    """Style sheets of a page in their order: those of the report, those of the working page."""
    own = sorted(name for name in known() if name.startswith("notebook") and name.endswith(".css"))
    return (*(name for name in _report_sheets() if name in known()), *own)


def _report_sheets() -> tuple[str, ...]:
    from pullbook.publish.styles import STYLE_SHEETS

    return STYLE_SHEETS


@cache
def _colours() -> bytes:
    from pullbook.publish.styles import theme_rules

    return theme_rules().encode()


@cache
def _styles() -> bytes:
    return _colours() + b"\n" + b"\n".join(known()[name].read_bytes() for name in _sheets())


@cache
def _script() -> bytes:
    from pullbook.web.joined import joined

    return joined("notebook/main.js", lambda name: known()[name].read_text(encoding="utf-8")).encode()


_MADE: Final[Mapping[str, Callable[[], bytes]]] = {COLOURS: _colours, STYLES: _styles, SCRIPT: _script}


def _suffix(name: str) -> str:
    return name[name.rfind(".") :] if "." in name else ""
