"""A reader of either unit system gets every sentence in it, those of the checks too."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from pullbook.app.compare_builds import compare_session
from pullbook.app.question import Question
from pullbook.app.tell import tell
from pullbook.bench import demo_session
from pullbook.publish.page import render_page
from pullbook.quantities.showing import UnitSystem
from pullbook.records.check import Level

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.records.result import SessionResult

# Units that a reader of the other system should not meet outside the words of the tester, which are quoted.
METRIC = re.compile(r"\d (?:N m|kW|°C|kPa|K|kg m²)\b")
QUOTED = re.compile("\u201c[^\u201d]*\u201d")


class Quiet:
    """Progress that nobody watches."""

    def step(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> SessionResult:
    folder: Path = tmp_path_factory.mktemp("demo")
    for name, content in demo_session().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return compare_session(folder, Question(system=UnitSystem.US), Quiet())


def test_checks_and_reasons_are_told_in_the_units_of_the_reader(result: SessionResult) -> None:
    cold = next(status for status in result.pulls if status.pull.name == "pulls/a1.csv")
    # 55.6 to 59.3 degC are 132 to 139 degF, and 24.4 K are 44 degF: degF = 1.8 degC + 32 (NIST SP 811, B.8).
    assert cold.reason(UnitSystem.METRIC) == "The oil was 55.6 to 59.3 °C, 24.4 K outside 80.0 to 110.0 °C."
    assert cold.reason(UnitSystem.US) == "The oil was 132 to 139 °F, 44 °F outside 176 to 230 °F."


def test_no_sentence_of_a_us_reader_has_a_metric_unit(result: SessionResult) -> None:
    for section in tell(result, UnitSystem.US).sections:
        for paragraph in section.paragraphs:
            assert not METRIC.search(QUOTED.sub("", paragraph.text)), paragraph.text


def test_the_page_carries_the_sentences_of_the_checks_in_both_units(result: SessionResult) -> None:
    text = render_page(result, interactive=False).replace("\u00a0", " ")
    unfit = [check for check in result.checks if check.level is Level.UNFIT and check.says_us]
    assert unfit
    for check in unfit:
        for css, says in (("metric", check.says), ("us", check.says_us)):
            assert f'<span class="{css}">{says}</span>' in text
