"""Pictures of the virtual engine, made when the documentation is built, by its commands and from tables."""

from __future__ import annotations

import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from engine_cost_chart import cost_chart
from engine_cost_page import read_table

from pullbook.publish.palette import DARK, LIGHT, Ink
from pullbook.publish.sheets import MIDDLE
from pullbook.publish.styles import ink_rules
from pullbook.publish.svg import picture

if TYPE_CHECKING:
    from sphinx.application import Sphinx

    from pullbook.publish.chart import Chart
    from pullbook.publish.palette import Theme

FOLDER = "_pictures"


def standing_alone(chart: Chart, theme: Theme) -> str:
    """Picture of a chart as a file of its own, in the colours of a theme."""
    rules = (files("pullbook.publish") / "static" / "picture.css").read_text(encoding="utf-8")
    # The fine ruling is made for even steps; the scales here are logarithmic.
    own = f"svg{{{theme.custom_properties}background:{theme[Ink.PAPER]}}}.picture .g1{{display:none}}"
    body = picture(chart, MIDDLE, chart.key)
    head, rest = body.split(">", 1)
    return f'{head} xmlns="http://www.w3.org/2000/svg"><style>{ink_rules()}{rules}{own}</style>{rest}\n'


def _command(folder: Path, *words: str) -> None:
    subprocess.run([sys.executable, "-m", "pullbook", *words], cwd=folder, check=True, capture_output=True)  # noqa: S603 - our own command


def _write(app: Sphinx) -> None:
    source = Path(app.srcdir)
    folder = source / FOLDER
    folder.mkdir(exist_ok=True)
    costs, _ = read_table((source / "methods" / "engine-cost.csv").read_text(encoding="utf-8"))
    for theme in (LIGHT, DARK):
        (folder / f"cost-{theme.name}.svg").write_text(standing_alone(cost_chart(costs), theme), encoding="utf-8")
    _command(folder, "engine", "new", "--like", "inline-four", "--to", "engine.toml", "--replace")
    _command(folder, "engine", "check", "engine.toml", "--picture", "pipes-light.svg")
    _command(folder, "engine", "check", "engine.toml", "--picture", "pipes-dark.svg", "--dark")
    _command(folder, "simulate", "engine.toml", "--at", "3000", "--waves", "waves.png")


def setup(app: Sphinx) -> dict[str, Any]:
    """Draw before Sphinx looks for the pictures."""
    app.connect("builder-inited", _write)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
