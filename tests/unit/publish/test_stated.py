"""Numbers of the page that can be asked where they come from."""

from __future__ import annotations

import re
from typing import Any

import pytest
from builders import make_result

from pullbook.publish.origins import origins
from pullbook.publish.sections import render_sections
from pullbook.publish.stated import stated
from pullbook.publish.telling import Telling


def numbers(text: str) -> list[str]:
    found = re.findall(r'<(?:a|span) class="q"[^>]*>(.*?)</(?:a|span)>', str(stated(text, "#x")))
    return [one.replace("\u00a0", " ") for one in found]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("gains 11.5 ± 2.1 N m (5.2 ± 1.0 %)", ["11.5 ± 2.1 N m", "5.2 ± 1.0 %"]),
        ("9.10 kW (8.2 to 10.0) more", ["9.10 kW (8.2 to 10.0)"]),
        ("between 3,980 and 4,370 rpm, near 4,180 rpm", ["3,980 and 4,370 rpm", "4,180 rpm"]),
        ("-0.7 to 1.9 lb ft, +12 hp", ["\u22120.7 to 1.9 lb ft", "+12 hp"]),
        ("2.2 litre four, 16 pulls, header 4-2-1, B2 rpm", []),
        ("12 %ig, 3 kWh", []),
    ],
)
def test_numbers_with_units_are_marked_whole(text: str, wanted: list[str]) -> None:
    assert numbers(text) == wanted


def test_one_number_leads_to_the_origin_and_it_is_no_speed_where_there_is_another() -> None:
    assert str(stated("At 3,350 rpm: 5.3 ± 5.1 N m (2.6 ± 2.5 %)", "#o")).count("<a ") == 1
    assert '<a class="q" href="#o">5.3' in str(stated("At 3,350 rpm: 5.3 ± 5.1 N m (2.6 ± 2.5 %)", "#o"))
    assert '<a class="q" href="#o">3,350' in str(stated("B overtakes A at 3,350 rpm", "#o"))
    assert "<a " not in str(stated("At 3,350 rpm: 5.3 N m"))


def test_text_around_and_addresses_are_escaped() -> None:
    made = str(stated("<b> 4-2-1 gains 5 N m & more", '"><script>'))
    assert made.startswith('&lt;b&gt; <span class="nb">4-2-1</span> gains <a class="q" href="&#34;&gt;&lt;script&gt;">')
    assert made.endswith("</a> &amp; more")


def test_an_origin_names_the_pulls_of_its_builds_and_no_others() -> None:
    told: Any = origins(Telling(result=make_result()))
    listed = {one["anchor"]: one for one in told["listed"]}
    pair = listed[told["pairs"]["B-A"].removeprefix("#")]
    assert {pull["build"] for pull in pair["pulls"]} == {"A", "B"}
    assert {pull["name"]: pull["used"] for pull in pair["pulls"]}["pulls/b3.csv"] is False
    assert {pull["rows"] for pull in pair["pulls"]} == {"2 to 768"}  # builders.make_pull: 767 samples from row 2
    build = listed[told["builds"]["C"].removeprefix("#")]
    assert {pull["build"] for pull in build["pulls"]} == {"C"}
    every = listed[str(told["all"]).removeprefix("#")]
    assert len(every["pulls"]) == len(make_result().pulls)


def test_every_statement_with_a_number_leads_somewhere() -> None:
    sections = render_sections(make_result()).sections
    ids = set(re.findall(r' id="([^"]+)"', "".join(sections.values())))
    for name in ("findings", "windows", "claims", "effects"):
        statements = re.findall(r"<(?:li|tr|h2|p)\b[^>]*>(.*?)</(?:li|tr|h2|p)>", sections[name], re.DOTALL)
        asked = [one for one in statements if 'class="q"' in one]
        assert asked, name
        for one in asked:
            leads = re.findall(r'<a class="q" href="#([^"]+)"', one)
            assert len(leads) == 1, one
            assert set(leads) <= ids
