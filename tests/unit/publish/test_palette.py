"""Colours: contrast by WCAG 2.2, and what somebody with a colour vision deficiency can still tell apart."""

from __future__ import annotations

import itertools
import math
import re
from pathlib import Path

import numpy as np
import pytest

import pullbook.publish
from pullbook.publish.palette import BUILD_INKS, DARK, LIGHT, Ink, Theme, build_style, contrast

FOLDER = Path(pullbook.publish.__file__).parent

# Simulation of full colour vision deficiency in linear RGB: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A
# Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15 (6), 2009, table 1 (from memory).
DEFICIENCIES = {
    "none": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
}


def linear(colour: str) -> np.ndarray:
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b* from linear sRGB, white D65 (IEC 61966-2-1, from memory)."""
    matrix = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = matrix @ np.clip(rgb, 0.0, 1.0) / np.array([0.9505, 1.0, 1.089])
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one: str, other: str, deficiency: str) -> float:
    seen = [lab(DEFICIENCIES[deficiency] @ linear(colour)) for colour in (one, other)]
    return float(math.dist(*seen))


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#ffffff", "#000000", 21.0), ("#777777", "#ffffff", 4.48), ("#0000ff", "#ffffff", 8.59)],
)
def test_contrast_is_that_of_the_published_examples(one: str, other: str, ratio: float) -> None:
    # Values that any WCAG contrast tool shows for these well-known pairs (from memory).
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_text_reads_on_paper_and_on_boxes(theme: Theme) -> None:
    for ink, ground in itertools.product((Ink.INK, Ink.SOFT, Ink.GAIN_TEXT, Ink.LOSS_TEXT), (Ink.PAPER, Ink.RAISED)):
        assert contrast(theme[ink], theme[ground]) >= 4.5, (ink, ground)  # WCAG 2.2, 1.4.3 level AA


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_every_curve_and_zone_stands_out_from_the_paper(theme: Theme) -> None:
    for ink in (*BUILD_INKS, Ink.GAIN, Ink.LOSS, Ink.OPEN):
        assert contrast(theme[ink], theme[Ink.PAPER]) >= 3.0, ink  # WCAG 2.2, 1.4.11


@pytest.mark.parametrize("deficiency", list(DEFICIENCIES))
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_the_first_four_builds_can_be_told_apart_by_colour_alone(theme: Theme, deficiency: str) -> None:
    colours = [theme[ink] for ink in (Ink.INK, *BUILD_INKS[:3])]
    for one, other in itertools.combinations(colours, 2):
        # A difference of 2.3 is just noticeable (M. Mahy et al. 1994, from memory); ten is plain at a glance.
        assert distance(one, other, deficiency) > 10.0, (one, other)


@pytest.mark.parametrize("deficiency", list(DEFICIENCIES))
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_builds_of_like_colour_have_another_line_style(theme: Theme, deficiency: str) -> None:
    styles = [build_style(place) for place in range(-1, 8)]
    for one, other in itertools.combinations(styles, 2):
        alike = distance(theme[one.ink], theme[other.ink], deficiency) < 10.0
        assert not (alike and one.dash is other.dash), (one, other)


def test_28_builds_have_a_style_of_their_own() -> None:
    styles = [build_style(place) for place in range(-1, 28)]
    assert len({(style.ink, style.dash) for style in styles}) == 29


def test_colours_are_written_down_in_one_file_only() -> None:
    colour = re.compile(r"#[0-9a-fA-F]{6}\b|#[0-9a-fA-F]{3}\b")
    others = [path for path in FOLDER.rglob("*") if path.suffix in {".py", ".css", ".js", ".j2"}]
    assert len(others) > 20
    found = {path.name: colour.findall(path.read_text(encoding="utf-8")) for path in others}
    assert {name for name, colours in found.items() if colours} == {"palette.py"}
