"""Every action of the page with a wrong value: what was typed stays, the field is marked, the remedy is said, and the
file on the disk is byte for byte as it was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest
from browser.bench_day import SESSION, assert_refused, described, opened, place, unfold
from browser.conftest import write
from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from browser.served import Served
    from browser.visit import Visit
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

# Place in the file, what somebody types there, and a word of the remedy.
_FIELDS: Final = {
    "an inertia without a unit": ("session.inertia", "0.21", "unit"),
    "a displacement in a unit of length": ("engine.displacement", "2.2 mm", "volume"),
    "a title that was emptied": ("session.title", "", "A day on the bench"),
    "levels that were emptied": ("factor[1].levels", "", "340 mm, 260 mm"),
    "a sentence of a claim that was emptied": ("claim[1].says", "", "Short runners are worth 8 kW"),
    "a number of a claim that was emptied": ("claim[1].at_least", " ", "8 kW"),
    "a date that is none": ("session.date", "yesterday", "2026"),
    "a day that no month has": ("session.date", "2026-02-30", "write for example 2026-05-04"),
    "one level of a factor taken out that a build has": (
        "factor[1].levels",
        "340 mm",
        "write for example 340 mm, 260 mm",
    ),
    "a cost of a change without a unit": ("factor[1].change", "50", "unit"),
    "a build that is called as another": ("build[2].name", "A", "A"),
    "a build without a name": ("build[2].name", "", "name"),
    "a number of a claim without a unit": ("claim[1].at_least", "8", "unit"),
    "a number of a claim in another unit": ("claim[1].at_least", "8 N m", "write for example 8 kW or 3 %"),
    "a place of a claim that is none": ("claim[1].where", "up high", "peak"),
    "windows of which one ends before it begins": ("session.windows", "3000..2000 rpm", "3000..2000 rpm"),
    "a range of speed without a unit": ("session.rpm", "2000..6500", "rpm"),
    "a limit without a unit": ("limits.oil_temperature", "80..105", "unit"),
    "a limit upside down": ("limits.mixture", "1.2..0.8 lambda", "1.2..0.8 lambda"),
    "a pull that is no number": ("pull[1].which", "the first", "the first"),
    "a pull that the count does not begin with": ("pull[1].which", "0", "0"),
    "a pressure without a unit": ("pull[1].air.pressure", "99.2", "unit"),
    "a temperature of no air": ("pull[1].air.temperature", "900 degC", "900 degC"),
    "a time that is none": ("pull[1].time", "after lunch", "2026"),
}


@pytest.fixture
def folder(own_server: Served) -> Path:
    """The session on the disk."""
    return place(own_server.root)


@pytest.fixture
def page(own_server: Served, folder: Path, visit: Callable[..., Visit]) -> Page:
    """Its page, with everything unfolded."""
    assert folder.is_dir()
    return opened(visit, own_server).page


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_text(encoding="utf-8")


def test_a_wrong_value_in_a_field_stays_there_is_explained_and_changes_nothing(page: Page, folder: Path) -> None:
    for what, (at, typed, word) in _FIELDS.items():
        field = page.locator(f'[data-at="{at}"]')
        before = field.input_value()
        field.fill(typed)
        field.press("Tab")
        expect(field, what).to_have_attribute("aria-invalid", "true")
        said = described(field)
        assert word in said, (what, said)
        assert field.input_value() == typed, what
        assert text_of(folder) == SESSION, what
        field.press("Escape")
        expect(field, what).not_to_have_attribute("aria-invalid", "true")
        assert field.input_value() == before, what


def test_a_wrong_value_of_a_text_over_several_lines_is_taken_back_by_escape(page: Page, folder: Path) -> None:
    field = page.locator('[data-at="session.windows"]')
    field.fill("2000..3000")
    field.press("Tab")
    assert_refused(field, "rpm")
    field.press("Escape")
    assert field.input_value() == ""
    assert text_of(folder) == SESSION


def test_a_refused_value_survives_a_change_of_the_file_and_blocks_nothing(page: Page, folder: Path) -> None:
    field = page.locator('[data-at="session.date"]')
    field.fill("yesterday")
    field.press("Tab")
    assert_refused(field, "2026")
    (folder / "session.toml").write_text(SESSION.replace("long runners", "long pipes") + _BUILD, encoding="utf-8")
    expect(page.locator('[data-at="build[3].name"]')).to_have_value("C")
    expect(page.locator('[data-at="build[1].label"]')).to_have_value("long pipes")
    assert field.input_value() == "yesterday"
    assert_refused(field, "2026")
    field.fill("2026-05-05")
    field.press("Tab")
    expect(field).not_to_have_attribute("aria-invalid", "true")
    assert "date = 2026-05-05" in text_of(folder)


_BUILD: Final = '\n[[build]]\nname = "C"\nlevels = { runners = "260 mm" }\n'


def add(page: Page, table: str, **fields: str) -> None:
    form = page.locator(f'form[data-add="{table}"]')
    for name, value in fields.items():
        form.locator(f'[name="{name}"]').fill(value)
    form.get_by_role("button").click()


@pytest.mark.parametrize(
    ("table", "fields", "marked", "words"),
    [
        ("build", {"name": "A", "label": "once more"}, "name", "A"),
        ("build", {"name": "", "label": "no name"}, "name", "needed"),
        ("factor", {"name": "runners", "levels": "1, 2"}, "name", "runners"),
        ("factor", {"name": "header", "levels": "4-1"}, "levels", "level"),
        ("factor", {"name": "header", "levels": "4-1, 4-2-1", "change": "an hour"}, "change", "min"),
        ("claim", {"number": "8"}, "number", "unit"),
        ("claim", {"number": ""}, "number", "needed"),
        ("claim", {"number": "8 N m", "where": "above"}, "where", "peak"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_cannot_be_added_stays_in_its_form(
    page: Page, folder: Path, table: str, fields: dict[str, str], marked: str, words: str
) -> None:
    add(page, table, **fields)
    form = page.locator(f'form[data-add="{table}"]')
    field = form.locator(f'[name="{marked}"]')
    assert_refused(field, words)
    expect(field).to_be_focused()
    for name, value in fields.items():
        assert form.locator(f'[name="{name}"]').input_value() == value
    assert text_of(folder) == SESSION


def test_a_pull_is_not_left_out_without_a_reason(page: Page, folder: Path) -> None:
    form = page.locator("#run-1 form.leave-out")
    form.get_by_role("button").click()
    field = form.locator("input")
    assert_refused(field, "the fuel ran out")
    expect(field).to_be_focused()
    assert text_of(folder) == SESSION


def test_weather_for_all_pulls_is_refused_where_it_is_wrong(page: Page, folder: Path) -> None:
    page.locator("#weather").evaluate("(one) => { one.open = true; }")
    form = page.locator("form[data-air]")
    form.get_by_role("button").click()
    assert_refused(form.locator("[name=pressure]"), "at least one")
    form.locator("[name=temperature]").fill("24")
    form.locator("[name=humidity]").fill("46 %")
    form.get_by_role("button").click()
    assert_refused(form.locator("[name=temperature]"), "unit")
    assert form.locator("[name=humidity]").input_value() == "46 %"
    expect(form.locator("[name=pressure]")).not_to_have_attribute("aria-invalid", "true")
    assert text_of(folder) == SESSION


def test_a_question_about_a_column_is_not_settled_with_nothing(page: Page, folder: Path) -> None:
    rows = "".join(f"{2000 + 50 * n},{20 + n / 8:.3f}\n" for n in range(81))
    (folder / "pulls" / "b1.csv").write_text(f"rpm,torque\n{rows}", encoding="utf-8")
    form = page.locator('form.ask[data-settle*="b1.csv"]').first
    form.wait_for()
    form.get_by_role("button").click()
    first = form.locator("input[type=radio]").first
    assert_refused(first, "choose one")
    expect(first).to_be_focused()
    assert text_of(folder) == SESSION


def test_a_text_with_a_wrong_line_stays_as_it_was_typed_and_is_not_written(page: Page, folder: Path) -> None:
    text = page.locator("#whole-text")
    for wrong, word in (
        (SESSION.replace("date = 2026-05-04", "date = soon"), "line 5"),
        (SESSION.replace('at_least = "8 kW"', 'at_least = "8"'), "unit"),
        (SESSION.replace("[[pull]]", "[[pulls]]"), "pulls"),
    ):
        text.fill(wrong)
        page.get_by_role("button", name="Save the file").click()
        assert_refused(text, word)
        assert text.input_value() == wrong
        assert text_of(folder) == SESSION
    text.fill(SESSION.replace("A day", "The day"))
    page.get_by_role("button", name="Save the file").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The day on the bench")


def test_a_session_is_not_made_without_a_title(own_server: Served, visit: Callable[..., Visit]) -> None:
    page = visit(own_server, "/").page
    page.get_by_label("Question").fill("Does it pay?")
    page.get_by_role("button", name="Make the session").click()
    field = page.get_by_label("Title")
    assert_refused(field, "needed", "Runner length")
    expect(field).to_be_focused()
    assert page.get_by_label("Question").input_value() == "Does it pay?"
    assert list(own_server.root.iterdir()) == []


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("standard=none+such", "SAE J1349"),
        ("window=fast", "2500..3500"),
        ("units=parsec", "metric"),
    ],
)
def test_a_question_that_an_address_cannot_ask_is_explained(
    own_server: Served, folder: Path, visit: Callable[..., Visit], query: str, words: str
) -> None:
    seen = opened(visit, own_server)
    page = seen.page
    assert page.goto(page.url.split("?")[0] + f"?{query}") is not None
    shown = page.locator("#main").inner_text()
    assert words in shown, shown
    assert text_of(folder) == SESSION
    page.get_by_role("link", name="Show the page without it").click()
    unfold(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("A day on the bench")


def test_a_build_that_an_address_names_and_no_session_has_is_told_in_place_of_the_findings(
    own_server: Served, demo_files: dict[str, bytes], visit: Callable[..., Visit]
) -> None:
    write(own_server.root / "demo", demo_files)
    seen = visit(own_server)
    page = seen.page
    page.set_default_timeout(60_000)
    page.locator("#sessions a").first.click()
    seen.go(page.url.removeprefix(own_server.address).split("?")[0] + "?of=Z")
    refused = page.locator("#findings-pending .refused")
    expect(refused).to_contain_text("no such build", timeout=60_000)
    expect(refused).to_contain_text("Choose one of A, B, C, D, E")
    expect(refused).not_to_contain_text("--")
    expect(page.locator("#ask-of option:checked")).to_have_text("Z, which is no build")
    page.locator("#ask-of").select_option("")
    expect(page.locator("section#findings")).to_be_visible(timeout=60_000)
    assert "of=" not in page.url
