"""Settings of the documentation site; it builds without the network and any warning is an error."""

from __future__ import annotations

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from pullbook import __version__

project = "pullbook"
author = "the pullbook authors"
copyright = "the pullbook authors, Apache-2.0"
release = __version__
version = __version__

extensions = ["sphinx.ext.autodoc", "numpydoc", "offline_math", "api_pages", "engine_pictures", "myst_parser"]
myst_enable_extensions = ["colon_fence", "deflist", "dollarmath", "substitution"]
myst_heading_anchors = 3
exclude_patterns = ["_build", "_pictures", "error-rates-*.md", "methods/engine-cost.md"]
html_theme = "furo"
html_title = f"pullbook {release}"
html_static_path = ["_static"]
html_css_files = ["pullbook.css"]
html_copy_source = False
html_show_sphinx = False
html_math_renderer = "drawn"

autodoc_member_order = "bysource"
autodoc_typehints = "none"
autodoc_preserve_defaults = True
numpydoc_show_class_members = False
numpydoc_class_members_toctree = False
nitpicky = False
suppress_warnings = ["ref.citation"]  # a source may stand in the list without a number in the text


def _include_error_rates(app: object, docname: str, source: list[str]) -> None:
    """Put the tables that the error-rate studies wrote under the page that explains how to read them."""
    del app
    if docname == "error-rates":
        tables = sorted(Path(__file__).parent.glob("error-rates-*.md"))
        source[0] += "\n\n".join(_with_heading(path) for path in tables)


def _with_heading(path: Path) -> str:
    """Text of a table, under a heading of its own or one that its file name gives."""
    text = path.read_text(encoding="utf-8")
    if re.search(r"^#{1,2} ", text, flags=re.MULTILINE):
        return re.sub(r"^# ", "## ", text, flags=re.MULTILINE)
    return f"## {path.stem.removeprefix('error-rates-').replace('-', ' ').capitalize()}\n\n{text}"


def setup(app: object) -> None:
    """Connect the hook."""
    app.connect("source-read", _include_error_rates)  # type: ignore[attr-defined] - Sphinx is not imported for a name
