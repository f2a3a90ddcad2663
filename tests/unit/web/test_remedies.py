"""What can be done is said in the words of the command line there, and of the page here."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pytest
from session_texts import FULL

import pullbook
from pullbook.capture.session_file_problems import find_problems
from pullbook.cli import remedies as command_line
from pullbook.errors import InputError, Remedy, Way
from pullbook.web import remedies as page
from pullbook.web.error_form import error_form

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT: Final = Path(pullbook.__file__).parent
OF_THE_COMMAND_LINE: Final = re.compile(r"(^|[ '(])--[a-z]|'pullbook (?!serve)")
WITHOUT_A_PAGE: Final = (
    "cli/",
    "remember/",
    "app/export_sessions.py",
    "app/history_file.py",
    "app/pool_",
)
AT_THE_START: Final = ("web/password.py", "web/settings.py")  # told on the terminal, before there is a page
OF_THE_FILE: Final = re.compile(r"\[\[|\b[a-z_]+ = |\[session\]|\[columns\]|\[engine\]")


@pytest.fixture(scope="module")
def templates() -> str:
    """All that stands on the page: text, labels and what the macros are told."""
    return "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "web/templates").rglob("*.j2"))


@pytest.mark.parametrize("way", Way)
def test_both_shells_have_words_for_every_way(way: Way) -> None:
    error = InputError("it is so", remedy=way.said("do this", "8 kW"))
    for said in (command_line.sentence_of(error), page.remedy_on_page(error)):
        assert said.strip()
        assert "{" not in said.replace("= {", ""), "everything is filled in"


@pytest.mark.parametrize("way", Way)
def test_the_words_of_the_page_name_what_stands_on_it(way: Way, templates: str) -> None:
    words = page.WORDS[way]
    assert words.controls or "{value}" in words.says, "it says where, or what is typed into the field it stands beside"
    for control in words.controls:
        assert control in words.says
        assert re.search(rf'[>"] ?(Columns? )?{re.escape(control)}[<" ]|}} {control}<', templates), control


@pytest.mark.parametrize("way", Way)
def test_the_page_speaks_neither_of_options_nor_of_lines_of_the_file(way: Way) -> None:
    says = page.WORDS[way].says
    assert not OF_THE_COMMAND_LINE.search(says)
    assert not OF_THE_FILE.search(says)


def remedies_in(source: Path) -> Iterator[str]:
    """Text of every remedy in a module that is told as it stands, and of every coded one."""
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if (
            isinstance(node, ast.keyword)
            and node.arg == "remedy"
            and isinstance(node.value, ast.Constant | ast.JoinedStr)
        ):
            yield ast.unparse(node.value)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "said":
            yield from (ast.unparse(argument) for argument in node.args[:1])


def test_no_remedy_outside_of_the_command_line_names_an_option_or_a_command() -> None:
    other = (*WITHOUT_A_PAGE, *AT_THE_START)
    places = [path for path in ROOT.rglob("*.py") if not path.relative_to(ROOT).as_posix().startswith(other)]
    found = {f"{path.relative_to(ROOT)}: {said}" for path in places for said in remedies_in(path)}
    assert len(found) > 300, "they are looked at"
    assert not {said for said in found if OF_THE_COMMAND_LINE.search(said.partition(": ")[2])}


def test_the_page_leads_nowhere_that_knows_the_words_of_the_command_line_alone() -> None:
    words = [part.removesuffix(".py").strip("/").replace("/", ".") for part in WITHOUT_A_PAGE]
    for path in (ROOT / "web").rglob("*.py"):
        source = path.read_text(encoding="utf-8")
        assert not [word for word in words if f"pullbook.{word}" in source], f"code the remedies that {path.name} shows"


def test_every_way_is_given_somewhere() -> None:
    sources = "\n".join(path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py"))
    assert [way for way in Way if f"Way.{way.name}.said(" not in sources and f"way=Way.{way.name}" not in sources] == []


@pytest.mark.parametrize(
    ("line", "instead", "typed"),
    [
        ('title = "', 'titel = "', "write for example Runner length on a 2.2 litre four"),
        ('levels = ["340 mm", "260 mm"]', 'levels = ["340 mm"]', "write for example 340 mm, 260 mm"),
        ("time = 2026-05-04T09:12:00", 'time = "nine"', "write for example 2026-05-04T09:12:00"),
        ('at_least = "8 kW"', 'at_least = "8"', "write for example 8 kW or 3 %"),
    ],
)
def test_beside_a_field_stands_what_is_typed_into_it_and_in_the_file_its_line(
    line: str, instead: str, typed: str
) -> None:
    assert FULL.count(line) >= 1
    problems = find_problems(FULL.replace(line, instead, 1))
    said = {page.remedy_on_page(problem): problem for problem in problems}
    assert typed in said, sorted(said)
    assert OF_THE_FILE.search(said[typed].remedy) or said[typed].remedy.startswith('write for example ["340')


def test_an_error_on_the_page_and_one_of_the_whole_text_have_one_form_and_words_of_their_own() -> None:
    error = InputError("no title", where="title", remedy=Remedy(way=Way.EXAMPLE, says='write title = "A"', value="A"))
    assert error_form(error) == {"what": "no title", "where": "title", "value": "", "remedy": "write for example A"}
    assert error_form(error, of_text=True)["remedy"] == 'write title = "A"'


def test_a_page_offers_what_a_remedy_is_about_and_nothing_else() -> None:
    form = error_form(InputError("x", remedy=Way.WITHOUT_BANDS.said("y")))
    assert page.offers(form, Way.WITHOUT_BANDS)
    assert not page.offers(form, Way.TEMPERATURE, Way.PRESSURE)
    assert not page.offers(None, Way.WITHOUT_BANDS)
