"""What a page would run or load, as a browser reads it."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Final

__all__ = ["active_parts"]

_ADDRESSES: Final = frozenset({"href", "src", "action", "formaction", "data", "poster", "srcset", "xlink:href"})
_FOREIGN: Final = ("javascript:", "vbscript:", "data:text", "http:", "https:", "//")
_NEVER: Final = frozenset({"object", "embed", "applet", "base"})


class _Reader(HTMLParser):
    def __init__(self, own: frozenset[str]) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._own = own

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag in _NEVER or (tag == "script" and not self._is_own_script(given)):
            self.found.append(f"<{tag} {given}>")
        for name, value in given.items():
            address = "".join(value.split()).lower()
            leads_away = name in _ADDRESSES and address.startswith(_FOREIGN)
            if name.startswith("on") or name == "srcdoc" or leads_away:
                self.found.append(f"<{tag} {name}={value!r}>")

    def _is_own_script(self, given: dict[str, str]) -> bool:
        return given.get("src", "").startswith("/assets/") or given.get("type") in self._own


def active_parts(page: str, *own: str) -> list[str]:
    """Scripts, handlers and addresses of a page that are not the notebook's own.

    Parameters
    ----------
    page : str
        Its markup.
    own : str
        Types of script elements that hold data and nothing that runs.
    """
    reader = _Reader(frozenset(own))
    reader.feed(page)
    reader.close()
    return reader.found
