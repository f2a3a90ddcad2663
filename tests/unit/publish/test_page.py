"""The page as text: complete, escaped, self-contained, and built for everyone."""

from __future__ import annotations

import itertools
import json
import re
from collections import Counter
from dataclasses import replace
from functools import cache
from html import escape
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest
from builders import make_bandless_findings, make_relative_findings, make_result
from builders_crowd import HOSTILE, make_crowd

from pullbook.publish.charts import torque_chart
from pullbook.publish.page import render_page
from pullbook.publish.scripts import chart_data, plotly_source
from pullbook.publish.telling import Telling
from pullbook.publish.typeset import typeset
from pullbook.publish.wording import sentences
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.records.result import SessionResult


def relative() -> SessionResult:
    """A session of an uncalibrated signal, whose claims are in per cent as `compare` demands."""
    findings = make_relative_findings()
    told = tuple(replace(claim, unit="%", low=-1.0, estimate=0.5, high=2.0, why="") for claim in findings.claims)
    result = make_result(names="AB", findings=replace(findings, claims=told), findings_with_all=None)
    claims = tuple(replace(claim, at_least=0.02, in_percent=True) for claim in result.session.claims)
    return replace(result, session=replace(result.session, claims=claims))


RESULTS = {
    "four builds": make_result(),
    "eight builds": make_crowd(),
    "without bands": make_result(names="AB", findings=make_bandless_findings(), findings_with_all=None),
    "relative": relative(),
    "bare": replace(
        make_result(names="AB"),
        checks=(),
        findings_with_all=None,
        findings=replace(
            make_bandless_findings(), differences=(), claims=(), refusals=(), assumptions=(), repeatability=None
        ),
    ),
}
VOID = {"meta", "input", "br", "link", "img", "hr"}


@cache
def page(name: str, *, interactive: bool = False) -> str:
    return render_page(RESULTS[name], interactive=interactive)


class Reader(HTMLParser):
    """Elements with their attributes, nesting checked, text collected."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.text: list[str] = []
        self.open: list[str] = []
        self.parents: list[tuple[str, ...]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        self.parents.append(tuple(self.open))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        self.parents.append(tuple(self.open))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "script", "title", "desc"} & set(self.open[-1:]):
            self.text.append(data)

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.mark.parametrize("name", list(RESULTS))
def test_elements_are_closed_and_ids_are_unique(name: str) -> None:
    reader = Reader(page(name))
    assert reader.open == []
    ids = Counter(attributes["id"] for _, attributes in reader.elements if "id" in attributes)
    assert [key for key, number in ids.items() if number > 1] == []
    for _, attributes in reader.elements:
        for key in ("aria-labelledby", "aria-describedby"):
            assert set(attributes.get(key, "").split()) <= set(ids)
    for link in (*reader.all("a"), *reader.all("use")):
        assert link["href"].startswith("#")
        assert link["href"][1:] in ids


@pytest.mark.parametrize("name", list(RESULTS))
def test_page_asks_the_network_for_nothing(name: str) -> None:
    text = page(name)
    reader = Reader(text)
    assert not [a for _, a in reader.elements if {"src", "srcset", "data", "action", "poster"} & set(a)]
    assert reader.all("link") == reader.all("img") == reader.all("iframe") == []
    assert not re.search(r"url\((?!#|&#35;)|@import|https?://", text)
    policy = next(meta["content"] for meta in reader.all("meta") if "Content-Security-Policy" in meta.values())
    assert policy.startswith("default-src 'none';")


@pytest.mark.parametrize("name", list(RESULTS))
@pytest.mark.parametrize("system", list(UnitSystem))
def test_every_sentence_is_on_the_page_without_scripts(name: str, system: UnitSystem) -> None:
    shown = re.sub(r"\s+", " ", "".join(Reader(page(name)).text)).replace("\u00a0", " ")
    story = sentences(RESULTS[name], system)
    keys = (
        "question",
        "findings",
        "peaks",
        "effects",
        "scatter",
        "checks",
        "refusals",
        "method",
        "assumptions",
        "cautions",
    )
    told = [*story.headlines, story.deck, *(p.text for key in keys for p in story.section(key).paragraphs)]
    missing = [text for text in told if re.sub(r"\s+", " ", typeset(text)).replace("\u00a0", " ") not in shown]
    assert missing == []


def test_order_of_the_page_is_question_pulls_findings_curves_windows_claims_method_cautions_provenance() -> None:
    found = re.findall(r'<section id="([a-z]+)"', page("four builds"))
    assert found == [
        "question", "pulls", "findings", "curves", "windows", "claims", "effects", "method", "cautions", "provenance",
    ]  # fmt: skip


@pytest.mark.parametrize("name", list(RESULTS))
def test_text_of_the_user_never_becomes_markup(name: str) -> None:
    for interactive in (False, True):
        text = page(name, interactive=interactive)
        assert "<script>alert" not in text
        assert 'alert("x")</script>' not in text
    if name == "eight builds":
        assert escape(HOSTILE, quote=True).replace("&quot;", "&#34;").replace("&#x27;", "&#39;") in page(name)


@pytest.mark.parametrize("name", list(RESULTS))
def test_inputs_have_labels_figures_have_names_tables_have_captions_and_headings(name: str) -> None:
    reader = Reader(page(name, interactive=False))
    for (tag, attributes), parents in zip(reader.elements, reader.parents, strict=True):
        if tag == "input":
            assert "label" in parents or "aria-label" in attributes
        if tag == "svg" and "svg" not in parents:  # what lies inside a picture is told by the picture
            assert attributes.get("aria-hidden") == "true" or attributes.get("aria-labelledby")
        if tag == "th":
            assert attributes["scope"] in {"col", "row"}
        if tag in {"nav", "section", "article", "form"}:
            assert attributes.get("aria-label") or attributes.get("aria-labelledby"), (tag, attributes)
    assert len(reader.all("table")) == len(reader.all("caption"))
    assert len(reader.all("main")) == len(reader.all("h1")) == 1
    assert reader.elements[0] == ("html", {"lang": "en", "data-system": "metric"})


@pytest.mark.parametrize("name", list(RESULTS))
def test_headings_go_down_one_step_at_a_time(name: str) -> None:
    levels = [int(tag[1]) for tag, _ in Reader(page(name)).elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert all(later <= earlier + 1 for earlier, later in itertools.pairwise(levels))


@pytest.mark.parametrize("name", ["four builds", "eight builds"])
def test_page_with_the_chart_library_is_under_six_and_a_half_megabytes(name: str) -> None:
    text = page(name, interactive=True)
    assert len(text.encode()) < 6_500_000
    assert text.count("plotly.js v") == 1
    assert text.index('id="chart-library"') > text.index("</footer>")  # the first picture is on the screen before it
    assert '<script type="text/plain" id="chart-library">' in text


def test_chart_data_is_json_in_both_unit_systems() -> None:
    found = re.search(r'id="chart-data">(.*?)</script>', page("four builds", interactive=True), re.DOTALL)
    assert found is not None
    data = json.loads(found.group(1))
    assert set(data) == {"torque", "power", "effects", "scatter"}
    assert {tuple(chart) for chart in data.values()} == {("metric", "us")}
    titles = {system: json.dumps(data["torque"][system]["layout"]["annotations"]) for system in ("metric", "us")}
    assert "torque, N m" in titles["metric"]
    assert "torque, lb ft" in titles["us"]


def test_chart_data_cannot_end_its_script_element() -> None:
    telling = Telling(result=RESULTS["four builds"])
    chart = torque_chart(telling)
    hostile = replace(chart, panels=(replace(chart.panels[0], key="</script><b>"),))
    text = chart_data({"torque": hostile}, {"torque": hostile})
    assert "<" not in text
    assert json.loads(text)["torque"]["us"]["panels"][0]["key"] == "</script><b>"


def test_chart_library_cannot_end_its_script_element() -> None:
    assert "</script" not in plotly_source().lower()


@pytest.mark.parametrize("system", list(UnitSystem))
def test_page_opens_with_the_units_that_were_asked_for(system: UnitSystem) -> None:
    reader = Reader(render_page(RESULTS["four builds"], system=system, interactive=False))
    checked = [a["value"] for a in reader.all("input") if a.get("name") == "units" and "checked" in a]
    assert checked == [str(system)]
    assert reader.all("html")[0]["data-system"] == str(system)


def test_every_pull_can_be_traced_to_file_hash_rows_and_recipe() -> None:
    result: SessionResult = RESULTS["four builds"]
    shown = "".join(Reader(page("four builds")).text)
    for status in result.pulls:
        assert status.pull.source.sha256 in shown
        assert status.pull.name in shown
    assert "SAE J1349, from memory" in shown  # source of a step in builders.make_corrected
    assert "2 to 768" in shown  # 767 samples of builders.make_pull from row 2


def test_a_pull_left_out_is_struck_with_its_reason_and_both_results() -> None:
    text = page("four builds")
    assert '<tr class="struck"><th scope="row">pulls/b3.csv</th>' in text
    assert "no: torque jumps at 4180\u00a0rpm" in text
    assert "Mean torque gains, both ways" in text


def test_the_same_result_gives_the_same_page() -> None:
    assert render_page(make_result(), interactive=False) == render_page(make_result(), interactive=False)
