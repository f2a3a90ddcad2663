"""The three invented engines: complete, usual, and what they are said to be."""

from __future__ import annotations

import re
import tomllib

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.firing import intervals
from pullbook.engine.layouts import build_network
from pullbook.engine.network_ends import OpenEnd
from pullbook.engine.templates import TEMPLATES, template_text
from pullbook.errors import InputError

# What is not there has no key: an engine without air box or silencer can only be assumed to have none.
ABSENT = {"air_box", "exhaust.silencer"}


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_template_declares_every_number_itself(name: str) -> None:
    assert {one.key for one in parse_engine(template_text(name)).assumed} <= ABSENT


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_template_has_no_unusual_number(name: str) -> None:
    assert parse_engine(template_text(name)).unusual == ()


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_template_makes_a_network_that_breathes_on_both_sides(name: str) -> None:
    network = build_network(parse_engine(template_text(name)))
    opened = {network.pipes[one.pipe].side for one in network.attachments if isinstance(one.to, OpenEnd)}
    assert {str(side) for side in opened} == {"intake", "exhaust"}


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_template_is_explained_by_remarks(name: str) -> None:
    text = template_text(name)
    assert text.startswith("# An invented")
    assert len(re.findall("#", text)) > 25
    assert tomllib.loads(text)["engine"]["name"]


def test_the_four_is_the_engine_of_the_demo() -> None:
    spec = parse_engine(template_text("inline-four"))
    assert spec.block.displacement == pytest.approx(2.2e-3, rel=0.005)
    assert [tube.length for tube in spec.intake.runners.tubes] == [pytest.approx(0.300)] * 4
    assert spec.headers[0].layout == "4-1"


def test_the_other_header_and_runners_of_the_demo_are_in_the_remarks() -> None:
    text = template_text("inline-four")
    before, rest = text.split("[[header]]", 1)
    _, other = rest.split("# The other header", 1)
    commented, after = other.split("[exhaust]\n", 1)
    lines = [line.removeprefix("# ") for line in commented.splitlines()[1:]]
    spec = parse_engine(before.replace('"300 mm"', '"260 mm"') + "\n".join(lines) + "\n[exhaust]\n" + after)
    assert spec.headers[0].layout == "4-2-1"
    assert spec.unusual == ()
    assert {one.key for one in spec.assumed} <= ABSENT
    assert build_network(spec).pipes


def test_the_v8_fires_evenly_and_unevenly_in_each_bank() -> None:
    block = parse_engine(template_text("v8-cross-plane")).block
    assert intervals(block.firing_angles_deg) == (90.0,) * 8
    left = [angle for angle, bank in zip(block.firing_angles_deg, block.banks, strict=True) if bank == "left"]
    assert sorted(intervals(left)) == [90.0, 180.0, 180.0, 270.0]


def test_the_crank_in_the_remarks_of_the_v8_is_the_one_that_fires_so() -> None:
    text = template_text("v8-cross-plane")
    even = parse_engine(text).block
    lines = [line for line in text.splitlines() if not line.startswith("firing_angles")]
    crank = "\n".join(
        line.removeprefix("# ") if line.startswith(("# crank_", "# cylinder_a")) else line for line in lines
    )
    assert "\ncrank_throws" in crank
    assert parse_engine(crank).block.firing_angles_deg == even.firing_angles_deg


def test_an_engine_that_is_not_there_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(InputError, match="perhaps 'inline-four' is meant"):
        template_text("inline-for")
