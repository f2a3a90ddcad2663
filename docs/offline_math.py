"""Formulas as SVG inside the page, drawn by matplotlib, so that the site needs no network and no TeX."""

from __future__ import annotations

import html
import io
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from docutils import nodes
    from sphinx.application import Sphinx
    from sphinx.writers.html5 import HTML5Translator


def draw(formula: str) -> str:
    """SVG of one line of TeX; the TeX itself, as code, where matplotlib cannot draw it."""
    from matplotlib import rc_context
    from matplotlib.font_manager import FontProperties
    from matplotlib.mathtext import math_to_image

    plain = re.sub(r"\s+", " ", formula).strip()
    plain = re.sub(r"\\sqrt (\w)", r"\\sqrt{\1}", plain)
    simple = re.sub(r"\\frac(\d)(\d)", r"\\frac{\1}{\2}", re.sub(r"\\[bB]igg?[lr]?\b", "", plain))
    buffer = io.BytesIO()
    try:
        with rc_context({"svg.hashsalt": "pullbook", "mathtext.fontset": "stix", "svg.fonttype": "path"}):
            math_to_image(f"${simple}$", buffer, prop=FontProperties(size=12), format="svg")
    except ValueError:
        return f"<code>{html.escape(plain)}</code>"
    svg = buffer.getvalue().decode()
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    return svg.replace("<svg ", f'<svg class="formula" role="img" aria-label="{html.escape(plain)}" ', 1)


def _inline(translator: HTML5Translator, node: nodes.math) -> None:
    from docutils.nodes import SkipNode

    translator.body.append(draw(node.astext()))
    raise SkipNode


def _block(translator: HTML5Translator, node: nodes.math_block) -> None:
    from docutils.nodes import SkipNode

    lines = [line for line in re.split(r"\\\\|\n\s*\n", node.astext()) if line.strip()]
    translator.body.append("".join(f'<p class="formula">{draw(line.replace("&", ""))}</p>' for line in lines))
    raise SkipNode


def setup(app: Sphinx) -> dict[str, Any]:
    """Register the renderer under the name that conf.py chooses."""
    app.add_html_math_renderer("drawn", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
