"""The line of a key in a TOML file, whatever stands around it."""

from __future__ import annotations

import tomllib

import pytest

from pullbook.errors import InputError, SessionFileError
from pullbook.quantities.toml_lines import line_of, lines_named

# The lines were counted by hand.
TEXT = """\
# pull[1].file = "in a remark"
[session]
title = "x"           # line 3
notes = '''
file = "in a text"
[[pull]]
'''
windows = ["1..2 rpm",
  "3..4 rpm"]

[[build]]
name = "A"
levels = { runners = "1", "inlet cam" = "2" }

  [[ pull ]]          # line 15
file = "a"
air = { pressure = "1 kPa" }
[[pull]]
file = "b"
[pull.air]
pressure = "2 kPa"
[limits]
"oil_temperature" = "1..2 degC"
engine.name = "y"
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("session", 2), ("session.title", 3), ("build", 11), ("limits.engine", 24),
        ("session.windows", 8), ("session.windows[2]", 9), ("session.missing", 2), ("build[1].name", 12),
        ("build[1].levels.inlet cam", 13), ("pull[1]", 15), ("pull[1].file", 16), ("pull[1].air.pressure", 17),
        ("pull[2].file", 19), ("pull[2].received", 18), ("limits.oil_temperature", 23), ("limits.engine.name", 24),
        ("claim[1].of", 0), ("", 0),
    ],
)  # fmt: skip
def test_each_key_has_its_line_and_a_missing_one_that_of_its_table(path: str, line: int) -> None:
    assert tomllib.loads(TEXT)["pull"][1]["file"] == "b"
    assert line_of(TEXT, path) == line


def test_errors_about_the_file_get_the_line_and_others_stay_as_they_are() -> None:
    with pytest.raises(SessionFileError) as found, lines_named(TEXT, "session.toml"):
        raise SessionFileError("wrong", where="session.toml: pull[1].which, a.csv", value="9")
    assert str(found.value) == "session.toml, line 15: pull[1].which, a.csv: wrong ('9')."
    with pytest.raises(InputError) as other, lines_named(TEXT, "session.toml"):
        raise InputError("wrong", where="a.csv")
    assert other.value.where == "a.csv"
    with pytest.raises(InputError) as syntax, lines_named(TEXT, "session.toml"):
        raise InputError("wrong", where="session.toml: line 2, column 9")
    assert syntax.value.where == "session.toml: line 2, column 9"
