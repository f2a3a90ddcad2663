"""Sections of the page for one kind of reader: the same as in the report, plain for JSON, and light."""

from __future__ import annotations

import gzip
import json
import re
from functools import cache

import pytest
from builders import make_bandless_findings, make_result
from builders_crowd import make_crowd

from pullbook.publish.page import render_page
from pullbook.publish.scripts import page_script
from pullbook.publish.sections import SECTIONS, PageParts, render_sections
from pullbook.publish.styles import page_styles
from pullbook.quantities.showing import UnitSystem

RESULTS = {
    "four builds": make_result(),
    "eight builds": make_crowd(),
    "without bands": make_result(names="AB", findings=make_bandless_findings(), findings_with_all=None),
}


@cache
def parts(name: str, system: UnitSystem = UnitSystem.METRIC) -> PageParts:
    return render_sections(RESULTS[name], system=system)


def without_systems(html: str, system: str) -> str:
    """Part of the report as one kind of reader sees it: the other system's text and pictures taken out."""
    other = "us" if system == "metric" else "metric"
    html = re.sub(rf'<span class="{other}">(?:<(?:a|span)[^>]*>.*?</(?:a|span)>|[^<])*</span>', "", html)
    html = re.sub(rf'<div class="picture-box {other}">.*?</div>', "", html, flags=re.DOTALL)
    return re.sub(rf'<div class="{other}">.*?</table></div>\s*</div>', "", html, flags=re.DOTALL)


def words(html: str) -> list[str]:
    return re.sub(r"<[^>]*>", " ", html).split()


@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize("name", list(RESULTS))
def test_sections_say_what_the_report_says_to_the_same_reader(name: str, system: UnitSystem) -> None:
    report = render_page(RESULTS[name], interactive=False)
    for anchor, html in parts(name, system).sections.items():
        found = re.search(rf'<section id="{anchor}".*?</section>', report, re.DOTALL)
        assert found is not None
        assert words(html) == words(without_systems(found.group(), str(system))), anchor


@pytest.mark.parametrize("name", list(RESULTS))
def test_each_section_is_one_element_with_its_anchor_and_is_in_the_contents(name: str) -> None:
    made = parts(name)
    for anchor, html in made.sections.items():
        assert html.startswith(f'<section id="{anchor}"')
        assert html.endswith("</section>")
        assert html.count("<section") == 1
    assert [anchor for anchor, _ in made.contents] == list(made.sections)
    assert set(made.sections) <= set(SECTIONS)


def test_a_section_without_anything_to_say_is_absent() -> None:
    assert "effects" in parts("four builds").sections
    assert "effects" not in parts("without bands").sections


@pytest.mark.parametrize("name", list(RESULTS))
def test_parts_are_plain_values_for_json(name: str) -> None:
    made = parts(name)
    again = json.loads(json.dumps(made.as_json(), allow_nan=False))
    assert again["sections"] == made.sections
    assert again["headline"] == made.headline
    assert [pull["name"] for pull in again["pulls"]] == [status.pull.name for status in RESULTS[name].pulls]
    assert {key for key, chart in again["charts"].items() if json.loads(chart)["data"]} == set(made.charts)


def test_a_figure_says_whether_there_is_one_to_hover_over() -> None:
    made = parts("four builds")
    html = "".join(made.sections.values())
    assert set(re.findall(r'data-chart="([^"]+)" data-interactive', html)) == set(made.charts)
    assert 'data-chart="pulls">' in html


def test_nothing_in_a_section_needs_a_style_or_a_script_of_its_own() -> None:
    for name in RESULTS:
        html = "".join(parts(name).sections.values())
        assert not re.search(r"<(script|style)\b|\sstyle=|\son[a-z]+=", html)


def test_us_sections_have_no_metric_units() -> None:
    made = parts("four builds", UnitSystem.US)
    for name in ("findings", "curves", "windows", "effects"):
        assert "N\u00a0m" not in made.sections[name]
        assert "lb\u00a0ft" in made.sections[name]


@pytest.mark.parametrize("name", ["four builds", "eight builds"])
def test_a_page_in_one_unit_system_weighs_less_than_110_kilobytes_without_the_chart_library(name: str) -> None:
    made = parts(name)
    pieces = (*made.sections.values(), *made.charts.values(), page_script(), page_styles())
    assert sum(len(gzip.compress(piece.encode(), 6)) for piece in pieces) < 110_000
