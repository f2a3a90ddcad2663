"""What has changed since an earlier comparison is said in the words of the page."""

from __future__ import annotations

from typing import Final

import pytest

from pullbook.capture.session_draft import read_draft
from pullbook.web.asked import Asked
from pullbook.web.changed_words import changed_words
from pullbook.web.earlier import Earlier

_TEXT: Final = """\
[session]
title = "A day"
date = 2026-05-04
dyno = "engine"
standard = "none"

[[build]]
name = "A"
baseline = true

[[build]]
name = "B"

[[pull]]
build = "A"
file = "pulls/a1.csv"

[[pull]]
build = "B"
file = "pulls/b1.csv"

[[pull]]
build = "A"
file = "pulls/a2.csv"
"""
_SEEN: Final = (("/s/session.toml", 10, 1, 1, 1), ("/s/pulls/a1.csv", 20, 1, 1, 2), ("/s/pulls/b1.csv", 30, 1, 1, 3))
_A1: Final = '[[pull]]\nbuild = "A"\nfile = "pulls/a1.csv"\n'
_B1: Final = '[[pull]]\nbuild = "B"\nfile = "pulls/b1.csv"\n'


def said(
    text: str = _TEXT, question: Asked | None = None, seen: tuple[tuple[str, int, int, int, int], ...] = _SEEN
) -> str:
    earlier = Earlier(key="0" * 64, folder="/s", question=Asked().plain(), text=_TEXT, seen=_SEEN)
    return changed_words(earlier, (question or Asked()).plain(), read_draft(text).values, seen)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"A day"', '"Another day"', "the title"),
        ("date = 2026-05-04\n", 'date = 2026-05-05\nrpm = "2000..5000 rpm"\n', "the date and the range of speed"),
        ('name = "B"', 'name = "B"\nlabel = "short"', "the builds"),
        ('"pulls/b1.csv"', '"pulls/b1.csv"\nleft_out = "cold"', "pull 2"),
        (_A1, _A1 + 'received = "observed"\n', "pull 1"),
        (f"{_A1}\n{_B1}", f"{_B1}\n{_A1}", "the run sheet"),
        (_B1, "", "the run sheet"),
        ("# nothing", "", ""),
    ],
)
def test_what_was_changed_in_the_file_is_named(old: str, new: str, words: str) -> None:
    if words:
        assert old in _TEXT
        assert said(_TEXT.replace(old, new)) == words
    else:
        assert said(_TEXT + "# a remark\n") == "the session"


def test_a_file_of_the_bench_that_is_another_one_is_named() -> None:
    assert said(seen=(_SEEN[0], ("/s/pulls/a1.csv", 21, 2, 2, 2), _SEEN[2])) == "the file a1.csv"
    assert said(seen=(("/s/session.toml", 11, 2, 2, 1), *_SEEN[1:])) == "the session"


def test_another_question_is_named() -> None:
    assert said(question=Asked(units="us")) == "the units"
    assert said(question=Asked(of="B", from_="A")) == "the builds that are asked for"


def test_many_things_are_counted() -> None:
    text = _TEXT
    for old, new in (
        ("A day", "B day"),
        ("05-04", "05-05"),
        ('"engine"', '"chassis"'),
        ('"none"', '"ISO 1585"'),
        (_B1, ""),
    ):
        text = text.replace(old, new)
    assert said(text) == "5 things in the session"
