"""All problems of a session file are found at once, each at its place; what only follows from another is not told."""

from __future__ import annotations

import pytest
from session_texts import FULL, SMALL
from unit.capture.test_session_file_refusals import CASES, changed

from pullbook.capture.session_file_problems import find_problems
from pullbook.errors import InputError, UnfinishedError

# Where one change makes more than one thing wrong, all of them.
SEVERAL = {
    'atleast = "8 kW"': ["claim[1]", "claim[1].atleast"],
    "[340, 260]": ["factor[1].levels[1]", "factor[1].levels[2]"],
    '{ runners = "340 mm", headr = "4-1" }': ["build[1].levels.headr", "build[1].levels.header"],
}


def places(text: str) -> list[str]:
    return [problem.at for problem in find_problems(text)]


def test_a_sound_file_has_no_problems() -> None:
    assert find_problems(FULL) == ()
    assert find_problems(SMALL) == ()


@pytest.mark.parametrize(("old", "new", "kind", "place", "said"), CASES)
def test_each_single_mistake_is_found_and_nothing_that_follows_from_it(
    old: str, new: str, kind: type[InputError], place: str, said: str
) -> None:
    problems = find_problems(changed(old, new))
    found = next(problem for problem in problems if problem.at == place)
    assert said in found.says
    assert found.unfinished is issubclass(kind, UnfinishedError)
    if place == "pull[1].received":
        assert places(changed(old, new)) == [f"pull[{number}].received" for number in (1, 3, 4, 5)]
    else:
        assert places(changed(old, new)) == SEVERAL.get(new, [place])


def test_mistakes_all_over_a_file_are_found_together_by_line() -> None:
    text = FULL
    for old, new in (
        ('"2.2 L"', '"2.2 kPa"'),
        ("date = 2026-05-04", 'date = "4 May"'),
        ('"80..105 degC"', '"80..105"'),
        ('["4-1", "4-2-1"]', '["4-1"]'),
        ('label = "long runners"', "label = 3"),
        ('"pulls/a1.csv"', '"/a1.csv"'),
        ('"29.29 inHg"', '"2.929 inHg"'),
        ('says = "Short runners are worth at least 8 kW at the top"', ""),
        ('within = "2 lb ft"', 'within = "0 lb ft"'),
    ):
        text = changed(old, new, text=text)
    problems = find_problems(text)
    assert [problem.at for problem in problems] == [
        "session.date",
        "engine.displacement",
        "limits.oil_temperature",
        "factor[2].levels",
        "build[1].label",
        "pull[1].file",
        "pull[3].air.pressure",
        "claim[1].says",
        "claim[3].within",
    ]
    lines = text.splitlines()
    assert [lines[problem.line - 1].split(" =")[0] for problem in problems if not problem.unfinished] == [
        problem.at.rpartition(".")[2] for problem in problems if not problem.unfinished
    ]
    assert [problem.at for problem in problems if problem.unfinished] == ["claim[1].says"]


def test_a_file_that_is_no_toml_has_one_problem_with_its_line() -> None:
    (problem,) = find_problems('[session]\ntitle = "open\n')
    assert (problem.at, problem.line, problem.unfinished) == ("", 2, False)
    assert problem.says.startswith("session.toml: line 2, column 14: this is not TOML")


def test_what_a_fresh_file_lacks_is_unfinished_and_not_wrong() -> None:
    problems = find_problems('[session]\ntitle = "One header"\nstandard = "SAE J1349"\nreceived = "observed"\n')
    assert [(problem.what, problem.unfinished) for problem in problems] == [
        ("the session has no builds", True),
        ("the session has no pulls", True),
    ]


def test_pulls_that_are_not_there_yet_are_lacking_elsewhere() -> None:
    claim = '[[claim]]\nid = "c"\nsays = "C gains"\nof = "C"\nfrom = "A"\nquantity = "torque"\nwhere = "peak"\n'
    problems = find_problems(SMALL + '[[build]]\nname = "C"\n' + claim + 'at_least = "1 N m"\n')
    assert [(problem.at, problem.unfinished, problem.elsewhere) for problem in problems] == [
        ("build[3]", True, True),
        ("claim[1].of", True, True),
    ]


def test_of_times_each_pull_that_lacks_one_is_named_and_no_other() -> None:
    text = changed("time = 2026-05-04T09:20:00\n", "", text=changed("time = 2026-05-04T10:20:00\n", ""))
    assert places(text) == ["pull[2].time", "pull[4].time"]


def test_a_list_that_is_no_list_makes_nothing_else_wrong() -> None:
    assert places('pull = 3\nbuild = 3\nfactor = [3]\n[session]\ntitle = "x"\nstandard = "none"\n') == [
        "pull",
        "build",
        "factor[1]",
    ]


def test_a_build_whose_name_is_wrong_is_not_missed_by_its_pulls_and_claims() -> None:
    assert places(changed('name = "C"', "name = 3")) == ["build[3].name"]


def test_a_factor_whose_name_is_wrong_is_not_missed_by_the_builds() -> None:
    assert places(changed('name = "header"', "name = 3")) == ["factor[2].name"]
