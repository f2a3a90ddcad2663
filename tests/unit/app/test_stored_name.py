"""Names of stored files: ours, whatever was offered."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.app.stored_name import ENDINGS, free_name, safe_name


@pytest.mark.parametrize(
    ("offered", "stored"),
    [
        ("run 1.csv", "run-1.csv"),
        ("RUN.CSV", "RUN.csv"),
        ("../../etc/passwd", "passwd.dat"),
        ("..\\..\\boot.ini", "boot-ini.dat"),
        ("C:\\fakepath\\a1.txt", "a1.txt"),
        ("/a/b/c/", "c.dat"),
        ("..", "pull.dat"),
        ("", "pull.dat"),
        (".csv", "pull.csv"),
        ("con.csv", "pull-con.csv"),
        ("LPT1.txt", "pull-LPT1.txt"),
        ("aux", "pull-aux.dat"),
        ("com1.csv.exe", "com1-csv-exe.dat"),
        ("a\x00b\n.csv", "a-b.csv"),
        ("-rf.csv", "rf.csv"),
        ("=cmd|' /C calc'!A0.csv", "C-calc-A0.csv"),  # the slash makes it a path
        ("Größe Übung.xlsx", "Grosse-Ubung.xlsx"),
        ("a.csv ", "a.csv"),
        ("a.csv...", "a.csv"),
        ("測定.csv", "pull.csv"),
        ("<script>.csv", "script.csv"),
    ],
)
def test_an_offered_name_becomes_a_plain_one(offered: str, stored: str) -> None:
    assert safe_name(offered) == stored


@given(st.text(max_size=400))
def test_every_name_has_letters_digits_and_dashes_and_a_known_ending_only(offered: str) -> None:
    name = safe_name(offered)
    assert re.fullmatch(r"[A-Za-z0-9]+(-[A-Za-z0-9]+)*\.[a-z0-9]+", name)
    assert name[name.rindex(".") :] in ENDINGS
    assert len(name) <= 70
    assert not re.fullmatch(r"(con|prn|aux|nul|com\d|lpt\d)\..*", name, re.IGNORECASE)


def test_a_number_makes_a_name_that_no_file_has_in_either_case() -> None:
    assert free_name("A.csv", set()) == "A.csv"
    assert free_name("A.csv", {"a.csv", "a-2.csv", "a-3.csv"}) == "A-4.csv"
