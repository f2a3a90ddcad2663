"""Scripts, style sheets and templates of the pages: nothing inline, nothing from outside, nothing that runs text."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pytest
from repo.tree import PACKAGE, ROOT

if TYPE_CHECKING:
    from pathlib import Path

_NAMESPACES: Final = re.compile(r"https?://www\.w3\.org/[\w/]+")
_OUTSIDE: Final = re.compile(r"https?://|wss?://|[\"'(=]\s*//\w")
_INLINE: Final = {
    "a handler": re.compile(r"<[^>]*\son[a-z]+\s*=", re.IGNORECASE),
    "a style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "an inline script": re.compile(
        r"<script\b(?![^>]*\ssrc=)(?![^>]*type=\"(application/json|text/plain)\")", re.IGNORECASE
    ),
    "a script address": re.compile(r"=\s*[\"']?javascript:", re.IGNORECASE),
    "escaping switched off": re.compile(r"\{%-?\s*autoescape\s+false"),
}
_RUNS_TEXT: Final = re.compile(
    r"\beval\s*\(|\bnew Function\b|\.(inner|outer)HTML\b|\binsertAdjacentHTML\b|\bdocument\.write|\bsetHTMLUnsafe\b"
    r"|\bcreateContextualFragment\b|\bset(Timeout|Interval)\(\s*[\"'`]"
)
_SILENCED: Final = re.compile(r"@ts-(nocheck|ignore)\b|@ts-expect-error\s*$", re.MULTILINE)
_PARSES: Final = re.compile(r"\bparseFromString\b")
_UNESCAPED: Final = re.compile(r"([\w.\[\]]+)\s*\|\s*safe\b")
MARKUP_OF_OURS: Final = {  # template -> what it passes on as markup; each was rendered and escaped by code of ours
    "publish/templates/macros.html.j2": {"svg"},
    "web/templates/files.html.j2": {"pull.picture"},
    "web/templates/notebook.html.j2": {"sections[name]"},
    "web/templates/runsheet.html.j2": {"pull.picture"},
    "publish/templates/evidence.html.j2": {"style", "figure.picture"},
    "publish/templates/run_sheet.html.j2": {"style"},
    "publish/templates/report.html.j2": {
        "style",
        "data",
        "script",
        "library",
        "text",
        "window_tables",
        "window_tables_with_all",
    },
    "web/templates/engine_macros.html.j2": {"runs.curves.html", "map.html"},
}
PARTS_OF_REPORT: Final = {  # template -> why something may stand inside it
    "publish/templates/report.html.j2": "one file that opens from a disk carries its styles, scripts and charts",
    "publish/templates/evidence.html.j2": "one file that works from a disk carries its styles",
    "publish/templates/run_sheet.html.j2": "one file that is printed from a disk carries its styles",
}
READS_MARKUP: Final = {  # script -> whose markup it may read
    "web/static/fragments.js": "sections that a route of ours rendered and escaped",
}


def page_files(*endings: str) -> list[Path]:
    """Own files of the pages with one of these endings."""
    found = (path for ending in endings for path in PACKAGE.rglob(f"*.{ending}"))
    return sorted(path for path in found if ".min." not in path.name)


def inline_parts(text: str) -> list[str]:
    """What stands inside a template and should be a file of its own, or should have been escaped."""
    return [what for what, pattern in _INLINE.items() if pattern.search(text)]


def outside_addresses(text: str) -> list[str]:
    """Lines that name an address outside; names of XML vocabularies are none."""
    return [line.strip() for line in text.splitlines() if _OUTSIDE.search(_NAMESPACES.sub("", line))]


def _texts(*endings: str) -> dict[str, str]:
    return {path.relative_to(PACKAGE).as_posix(): path.read_text(encoding="utf-8") for path in page_files(*endings)}


def _found(pattern: re.Pattern[str], *endings: str) -> dict[str, list[str]]:
    found = {name: [one.group() for one in pattern.finditer(text)] for name, text in _texts(*endings).items()}
    return {name: parts for name, parts in found.items() if parts}


def test_no_template_has_inline_scripts_styles_or_handlers() -> None:
    found = {name: parts for name, text in _texts("html", "j2").items() if (parts := inline_parts(text))}
    assert {name: parts for name, parts in found.items() if name not in PARTS_OF_REPORT} == {}


def test_templates_pass_on_as_markup_only_what_was_rendered_by_us() -> None:
    found = {name: set(_UNESCAPED.findall(text)) for name, text in _texts("html", "j2").items()}
    assert {name: rest for name, used in found.items() if (rest := used - MARKUP_OF_OURS.get(name, set()))} == {}


def test_no_script_style_sheet_or_template_names_an_address_outside() -> None:
    texts = _texts("css", "js", "html", "j2")
    assert {name: lines for name, text in texts.items() if (lines := outside_addresses(text))} == {}


def test_no_script_runs_or_inserts_text() -> None:
    assert _found(_RUNS_TEXT, "js") == {}


def test_markup_is_read_by_the_named_scripts_alone() -> None:
    assert {name: parts for name, parts in _found(_PARSES, "js").items() if name not in READS_MARKUP} == {}


def test_no_script_silences_the_type_checker_without_a_reason() -> None:
    assert _found(_SILENCED, "js") == {}


def test_the_type_checker_leaves_no_script_out() -> None:
    settings = (ROOT / "tests" / "browser-tools" / "tsconfig.json").read_text(encoding="utf-8")
    left_out = [name for name in ("skipLibCheck", "@ts-") if name in settings]
    assert left_out == []
    assert "../../src/pullbook/**/static/**/*.js" in settings
    assert all("static" in path.parts for path in page_files("js"))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('<p onclick="go()">', "a handler"),
        ("<p class=a\n style='x'>", "a style attribute"),
        ("<style>p {}</style>", "a style element"),
        ("<script>go()</script>", "an inline script"),
        ('<script type="module">go()</script>', "an inline script"),
        ('<a href="javascript:go()">', "a script address"),
        ("{% autoescape false %}", "escaping switched off"),
    ],
)
def test_an_inline_part_would_be_seen(text: str, what: str) -> None:
    assert inline_parts(text) == [what]


def test_a_script_of_its_own_file_and_data_are_no_inline_parts() -> None:
    page = '<script type="module" src="/assets/a.js"></script><script type="application/json">{}</script><p id=style>'
    assert inline_parts(page) == []


@pytest.mark.parametrize("text", ["@import 'https://a.example/b.css'", "url(//a.example/b.png)", "src = '//a.example'"])
def test_an_address_outside_would_be_seen(text: str) -> None:
    assert outside_addresses(text) == [text]


@pytest.mark.parametrize("text", ["x.innerHTML = y", "eval(y)", "new Function(y)", "setTimeout('go()', 1)"])
def test_text_that_is_run_would_be_seen(text: str) -> None:
    assert _RUNS_TEXT.search(text)


def test_unescaped_text_would_be_seen() -> None:
    assert _UNESCAPED.findall("{{ pull.name | safe }}{{ svg|safe }}{{ unsafe }}") == ["pull.name", "svg"]
