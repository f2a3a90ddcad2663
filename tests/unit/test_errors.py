"""The sentence of an error."""

from __future__ import annotations

import tomllib

import pytest

from pullbook.errors import MappingError


@pytest.mark.parametrize("name", ["a\nb", "a\r\tb", "a\x85b", "a\u2028b", "\udcff"])
def test_what_cannot_be_printed_is_written_as_in_a_toml_string(name: str) -> None:
    said = str(MappingError("a column could be two things", remedy=f'write column = "{name}"'))
    assert said.isprintable()
    if not "\ud800" <= name <= "\udfff":
        written = said.partition("write ")[2].removesuffix(".")
        assert tomllib.loads(written) == {"column": name}


def test_words_of_other_languages_stay_as_they_are() -> None:
    assert str(MappingError("Drehmoment fehlt: übrig ist °C")) == "Drehmoment fehlt: übrig ist °C."
