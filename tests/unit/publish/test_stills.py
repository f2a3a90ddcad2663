"""Stills: sizes, grounds, the same bytes every time, and no text on other text."""

from __future__ import annotations

import itertools
import struct
import subprocess
import sys
import zlib
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from builders import make_bandless_findings, make_relative_findings, make_result
from builders_crowd import make_crowd

from pullbook.publish.files import still_charts
from pullbook.publish.palette import DARK, LIGHT, Ink
from pullbook.publish.stills import APPEARANCES, HD, UHD, draw_still, still_bytes
from pullbook.publish.telling import Telling

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.text import Text
    from matplotlib.transforms import BboxBase

    from pullbook.publish.chart import Chart

TELLING = Telling(result=make_result())
CHARTS = {chart.key: chart for chart in still_charts(TELLING)}
CROWD = {chart.key: chart for chart in still_charts(Telling(result=make_crowd()))}


def size_of(png: bytes) -> tuple[int, int]:
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", png[16:24])
    return int(width), int(height)


def first_pixel(png: bytes) -> tuple[int, ...]:
    """Corner of a PNG with 8 bit RGBA; no filter changes the first pixel of the first row (PNG, ISO 15948, 9.2)."""
    assert png[24:26] == bytes([8, 6])
    at, data = 8, b""
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at : at + 8])
        data += png[at + 8 : at + 8 + length] if kind == b"IDAT" else b""
        at += length + 12
    return tuple(zlib.decompress(data)[1:5])


@pytest.mark.parametrize("pixels", [HD, UHD])
def test_png_has_the_size_that_was_asked_for(pixels: tuple[int, int]) -> None:
    assert size_of(still_bytes(draw_still(CHARTS["power"], APPEARANCES[0]), "png", pixels)) == pixels


@pytest.mark.parametrize("appearance", APPEARANCES, ids=lambda appearance: appearance.name)
def test_ground_is_that_of_the_theme_or_none(appearance: object) -> None:
    chosen = next(one for one in APPEARANCES if one is appearance)
    corner = first_pixel(still_bytes(draw_still(CHARTS["power"], chosen), "png"))
    paper = (DARK if chosen.name == "dark" else LIGHT)[Ink.PAPER]
    expected = tuple(int(paper[i : i + 2], 16) for i in (1, 3, 5))
    assert corner[3] == (0 if chosen.transparent else 255)
    assert chosen.transparent or corner[:3] == expected


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_the_same_chart_gives_the_same_bytes(kind: str) -> None:
    one, other = (still_bytes(draw_still(CHARTS["torque"], APPEARANCES[0]), kind) for _ in range(2))
    assert one == other
    assert {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[kind] == one[: 5 if kind == "svg" else 4]


def texts_of(figure: Figure) -> list[Text]:
    from matplotlib.text import Text

    return [found for found in figure.findobj(Text) if isinstance(found, Text)]  # type: ignore[redundant-expr] # findobj is typed too narrowly in some releases


def boxes(figure: Figure) -> list[tuple[str, BboxBase]]:
    """Every text of a figure with its rectangle in pixels."""
    figure.canvas.draw()
    texts = [text for text in texts_of(figure) if text.get_visible()]
    return [(text.get_text(), text.get_window_extent()) for text in texts if text.get_text().strip()]


@pytest.mark.parametrize("chart", [*CHARTS.values(), *CROWD.values()], ids=lambda chart: chart.key)
def test_no_text_is_cut_off_or_lies_on_other_text(chart: Chart) -> None:
    found = boxes(draw_still(chart, APPEARANCES[0], "title   ·   4 May 2026"))
    assert len(found) > 5
    for text, box in found:
        assert box.x0 >= 0.0, text
        assert box.x1 <= HD[0], text
        assert box.y0 >= 0.0, text
        assert box.y1 <= HD[1], text
    for (one, first), (other, second) in itertools.combinations(found, 2):
        wide = min(first.x1, second.x1) - max(first.x0, second.x0)
        tall = min(first.y1, second.y1) - max(first.y0, second.y0)
        assert wide < 2.0 or tall < 4.0, (one, other)  # a box holds room for letters that reach lower


def with_long_words() -> list[Chart]:
    result = make_result()
    long = "a claim that goes on and on about runners and headers and cams " * 3
    claims = tuple(replace(claim, says=long) for claim in result.session.claims)
    builds = tuple(replace(build, label=f"{build.label} {long}") for build in result.session.builds)
    session = replace(result.session, title=long, claims=claims, builds=builds)
    return list(still_charts(Telling(result=replace(result, session=session))))


@pytest.mark.parametrize("chart", with_long_words(), ids=lambda chart: chart.key)
def test_very_long_words_of_the_user_stay_on_the_still(chart: Chart) -> None:
    for text, box in boxes(draw_still(chart, APPEARANCES[0], "a long footnote " * 20)):
        assert box.x0 >= 0.0, text
        assert box.x1 <= HD[0], text


def test_text_is_large_enough_for_a_video() -> None:
    figure = draw_still(CHARTS["torque"], APPEARANCES[0], "footnote")
    written = [text for text in texts_of(figure) if text.get_text().strip()]
    assert min(float(text.get_fontsize()) for text in written) * 100 / 72 >= 19.0  # pixels at 1920 x 1080
    assert {text.get_fontname() for text in written} == {"DejaVu Sans"}


@pytest.mark.parametrize("findings", [make_bandless_findings(), make_relative_findings()], ids=["bandless", "relative"])
def test_sessions_without_bands_or_power_have_stills_too(findings: object) -> None:
    charts = still_charts(Telling(result=make_result(names="AB", findings=findings)))
    assert "torque" in {chart.key for chart in charts}
    for chart in charts:
        assert len(still_bytes(draw_still(chart, APPEARANCES[1]), "png")) > 10_000


def test_stills_have_names_of_their_own() -> None:
    keys = [chart.key for chart in still_charts(Telling(result=make_crowd()))]
    assert len(keys) == len(set(keys))


def test_sentences_need_no_heavy_library() -> None:
    code = (
        "import sys, pullbook.publish.files; print([n for n in ('matplotlib', 'plotly', 'jinja2') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
