"""Style sheets of the page: the colours of both themes, then the sheets in their order."""

from __future__ import annotations

from typing import Final

from pullbook.publish.palette import DARK, LIGHT, Ink
from pullbook.publish.scripts import resource

__all__ = ["STYLE_SHEETS", "ink_rules", "page_styles", "theme_rules"]

STYLE_SHEETS: Final = (
    "tokens.css", "page.css", "prose.css", "charts.css", "picture.css", "tables.css", "window.css", "origin.css",
    "print.css",
)  # fmt: skip
"""Sheets of the page in their order; a page of the server links them, the report carries them."""


def theme_rules() -> str:
    """Colours as custom properties, by the reader's theme; paper is always light. Then what is drawn in each ink."""
    themes = (
        f":root{{color-scheme:light dark;{LIGHT.custom_properties}}}"
        f"@media (prefers-color-scheme:dark){{:root{{{DARK.custom_properties}}}}}"
        f"@media print{{:root{{color-scheme:light;{LIGHT.custom_properties}}}}}"
    )
    return themes + ink_rules()


def ink_rules() -> str:
    """Rules for strokes and fills of all inks, which pictures refer to by class."""
    return "".join(f".s-{ink}{{stroke:var(--{ink})}}.f-{ink}{{fill:var(--{ink})}}" for ink in Ink)


def page_styles() -> str:
    """All of it as one text, for a page that is one file."""
    return theme_rules() + "".join(resource("static", name) for name in STYLE_SHEETS)
