"""Lists and inline tables are changed at one place, and all the rest of them stays as it was written."""

from __future__ import annotations

import pytest

from pullbook.capture.session_edit_inline import remove_inside, set_inside


@pytest.mark.parametrize(
    ("written", "inner", "after"),
    [
        ("{ a.b = 1, a.c = 2 }", ("a", "b"), "{ a.c = 2 }"),
        ("{ a.b = 1, c = 2 }", ("a",), "{ c = 2 }"),
        ("{ a = { b = 1 }, c = 2 }", ("a", "b"), "{ c = 2 }"),
        ("[{ a = 1 }, { b = 2 }]", (1, "a"), "[{}, { b = 2 }]"),
        ('[\n  "a", # one\n  "b" # two\n]', (2,), '[\n  "a", # one\n]'),
        ('[\n  "a", # one\n  "b" # two\n]', (1,), '[\n  "b" # two\n]'),
        ('["a, ]", "b"]', (1,), '["b"]'),
    ],
)
def test_a_key_or_entry_goes_out_of_a_value_and_the_rest_stays(
    written: str, inner: tuple[str | int, ...], after: str
) -> None:
    assert remove_inside(written, inner) == after


@pytest.mark.parametrize(
    ("written", "inner", "after"),
    [
        ("{ a.b = 1 }", ("a", "c"), "{ a.b = 1, a.c = 5 }"),
        ("{ a.b.c = 1 }", ("a", "b", "d"), "{ a.b.c = 1, a.b.d = 5 }"),
        ("{ a.b.c = 1 }", ("a", "d", "e"), "{ a.b.c = 1, a.d = { e = 5 } }"),
        ("{ a = 1 }", ("b", "c"), "{ a = 1, b = { c = 5 } }"),
        ("{}", ("b",), "{ b = 5 }"),
        ('{ "a = b" = 1, c = 2 }', ("c",), '{ "a = b" = 1, c = 5 }'),
        ("[1,2 , 3]", (2,), "[1,5 , 3]"),
    ],
)
def test_a_key_or_entry_is_set_in_a_value_and_the_rest_stays(
    written: str, inner: tuple[str | int, ...], after: str
) -> None:
    assert set_inside(written, inner, 5) == after
