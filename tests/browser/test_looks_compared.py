"""The comparison of pictures itself: a word more is no difference, a chart that is gone is one."""

from __future__ import annotations

import io
from typing import Final

import pytest
from browser.looks import LOOKS, difference
from PIL import Image, ImageDraw

_SIZE: Final = (1280, 3000)


def picture(*, chart: bool = True, ink: str = "#0072b2", words: int = 1, height: int = _SIZE[1]) -> bytes:
    """A page with lines of text and one chart."""
    page = Image.new("RGB", (_SIZE[0], height), "#fdfcf8")
    pen = ImageDraw.Draw(page)
    for line in range(40):
        pen.text((80, 80 + 24 * line), "From 3,750 to 5,700 rpm B gives up torque to A " * 3, fill="#222222")
    pen.text((80, 1100), "and so on " * words, fill="#222222")
    if chart:
        pen.rectangle((80, 1300, 1200, 1900), outline="#222222", width=3)
        for offset in range(0, 200, 20):
            pen.line([(90, 1800 - offset), (500, 1400 + offset), (1190, 1500)], fill=ink, width=12)
    file = io.BytesIO()
    page.save(file, "png")
    return file.getvalue()


def test_the_same_page_and_a_word_more_look_the_same() -> None:
    kept = LOOKS.small(picture())
    assert difference(kept, LOOKS.small(picture())) == ""
    assert difference(kept, LOOKS.small(picture(words=3))) == ""


@pytest.mark.parametrize(
    ("now", "found"),
    [
        (picture(chart=False), "look different"),
        (picture(ink="#ffffff"), "look different"),
        (picture(height=3200), "in place of"),
    ],
    ids=["chart gone", "ink lost", "taller"],
)
def test_a_page_that_lost_something_looks_different(now: bytes, found: str) -> None:
    assert found in difference(LOOKS.small(picture()), LOOKS.small(now))


def test_a_kept_picture_is_small() -> None:
    reduced = LOOKS.small(picture())
    assert reduced.width == 200
    assert reduced.height == 469
