"""Parts of a session file: names, where they are fitted, and dimensions of any kind."""

from __future__ import annotations

import pytest

from pullbook.capture.session_edit import Edit, edit_session
from pullbook.capture.session_file import parse_session
from pullbook.capture.session_file_problems import find_problems
from pullbook.errors import InputError

TEXT = """\
[session]
title = "Two headers"
standard = "SAE J1349"
received = "observed"

[[factor]]
name = "header"
levels = ["small", "big"]

[[part]]
name = "header no. 17"
factor = "header"
level = "small"
dimensions = { primaries = "1 3/4 in", length = "780 mm" }

[[part]]
name = "camshaft 4"
dimensions = { duration = "272 deg" }

[[build]]
name = "A"
baseline = true
levels = { header = "small" }

[[build]]
name = "B"
levels = { header = "big" }

[[pull]]
build = "A"
file = "a.csv"

[[pull]]
build = "B"
file = "b.csv"
"""


def test_dimensions_arrive_in_si_with_their_kind_and_as_written() -> None:
    header, camshaft = parse_session(TEXT).parts
    assert (header.name, header.factor, header.level) == ("header no. 17", "header", "small")
    assert header.dimensions["primaries"].value == pytest.approx(1.75 * 0.0254)  # the inch is exact
    assert header.dimensions["length"].value == pytest.approx(0.78)
    assert header.dimensions["length"].kind == "length"
    assert header.dimensions["primaries"].written == "1 3/4 in"
    assert (camshaft.factor, camshaft.level) == ("", "")
    assert camshaft.dimensions["duration"].value == pytest.approx(272.0)  # angles are in degrees inside


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('primaries = "1 3/4 in"', "primaries = 44", "part[1].dimensions.primaries: text is needed"),
        ('primaries = "1 3/4 in"', 'primaries = "44"', "part[1].dimensions.primaries: a number with a unit is needed"),
        ('primaries = "1 3/4 in"', 'primaries = "44 furlong"', "a number with a unit is needed ('44 furlong')"),
        ('dimensions = { duration = "272 deg" }', 'dimensions = "272 deg"', "part[2].dimensions: one table is needed"),
        ('level = "small"', 'level = "smal"', "part[1].level: factor 'header' has no such level"),
        ('factor = "header"\nlevel = "small"', 'factor = "heeder"\nlevel = "small"', "no [[factor]] has this name"),
        ('factor = "header"\nlevel = "small"', 'level = "small"', "part[1].level: a level belongs to a factor"),
        ('factor = "header"\nlevel = "small"', 'factor = "header"', "part[1].level: this key is missing"),
        ('name = "camshaft 4"', 'nam = "camshaft 4"', "part[2].nam: this key is unknown"),
        ('name = "camshaft 4"', 'name = ""', "part[2].name: the text is empty"),
    ],
)
def test_a_wrong_part_is_refused_by_its_place(old: str, new: str, told: str) -> None:
    assert TEXT.count(old) == 1
    with pytest.raises(InputError) as refused:
        parse_session(TEXT.replace(old, new))
    assert told in str(refused.value)


def test_the_same_part_twice_at_one_level_is_refused() -> None:
    with pytest.raises(InputError, match="twice at the same level"):
        parse_session(TEXT.replace('name = "camshaft 4"', 'name = "header no. 17"\nfactor = "header"\nlevel = "small"'))


def test_a_factor_and_a_level_that_are_renamed_are_renamed_in_the_parts_too() -> None:
    edits = [Edit("rename", "factor[1]", "manifold"), Edit("rename", "factor[1].levels[1]", "44 mm")]
    renamed = edit_session(TEXT, edits)
    header, _ = parse_session(renamed).parts
    assert (header.factor, header.level) == ("manifold", "44 mm")


def test_a_part_whose_factor_is_taken_out_is_a_mistake_that_the_page_refuses() -> None:
    left = edit_session(TEXT, [Edit("remove", "factor[1]")])
    wrong = [problem for problem in find_problems(left) if not problem.unfinished]
    assert [problem.at for problem in wrong] == ["part[1].factor"]
