"""The pages by which one logs in and out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.errors import PullbookError

__all__ = ["login_page", "logout_page"]


def login_page(proof: str, after: str, error: PullbookError | None) -> str:
    """Form that asks for the password, with what was wrong at the last attempt."""
    return _rendered("login.html.j2", proof=proof, after=after, error=error)


def logout_page(proof: str) -> str:
    """Form that ends a login."""
    return _rendered("logout.html.j2", proof=proof)


def _rendered(name: str, **words: object) -> str:
    from pullbook.web.assets import COLOURS, address
    from pullbook.web.templating import environment

    sheets = [address(sheet) for sheet in (COLOURS, "login.css")]
    return environment().get_template(name).render(sheets=sheets, icon=address("icon.svg"), **words)
