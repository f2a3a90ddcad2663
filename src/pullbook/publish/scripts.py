"""What a page that can be hovered over carries: our script, the chart data, and the chart library itself."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import TYPE_CHECKING

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.publish.chart import Chart

__all__ = ["chart_data", "page_script", "plotly_source", "resource"]


def resource(folder: str, name: str) -> str:
    """Text of a file that is part of this package."""
    return files("pullbook.publish").joinpath(folder, name).read_text(encoding="utf-8")


def page_script() -> str:
    """Our own script for a page that is one file, safe to stand inside a script element."""
    from pullbook.publish.bundle import bundled

    return bundled("report.js", lambda name: resource("static", f"page/{name}")).replace("</script", "<\\/script")


def plotly_source() -> str:
    """Text of plotly.js out of the plotly wheel, safe to stand inside a script element.

    Raises
    ------
    FailureError
        If the installed plotly has no plotly.js in it.
    """
    path = files("plotly").joinpath("package_data", "plotly.min.js")
    if not path.is_file():
        raise FailureError("the plotly package has no plotly.js in it", where=str(path), remedy="install plotly again")
    return path.read_text(encoding="utf-8").replace("</script", "<\\/script").replace("<!--", "<\\!--")


def chart_data(metric: Mapping[str, Chart], us: Mapping[str, Chart]) -> str:
    """JSON of all charts that can be hovered over, in both unit systems, safe to stand inside a script element."""
    from pullbook.publish.interactive import INTERACTIVE, plotly_figure
    from pullbook.publish.packing import packed

    charts = {
        key: {"metric": packed(plotly_figure(metric[key])), "us": packed(plotly_figure(us[key]))}
        for key in metric
        if key in INTERACTIVE
    }
    return json.dumps(charts, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")
