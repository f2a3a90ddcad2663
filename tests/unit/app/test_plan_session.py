"""A session is planned from its file alone, written ready to run, and refused in one sentence where it cannot be."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from plan_cases import PLAIN

from pullbook.app.plan_question import resolve_of, time_of
from pullbook.app.plan_session import Planned, PlanWords, plan_session
from pullbook.app.ports import Silent
from pullbook.app.rehearse_plan import Rehearsal, rehearse_plan
from pullbook.app.write_plan import chosen_offer, write_plan
from pullbook.capture.session_file import parse_session
from pullbook.capture.session_file_problems import find_problems
from pullbook.cli.show_plan import plan_lines
from pullbook.errors import InputError, RefusalError
from pullbook.publish.plan_words import unanswered_sentence
from pullbook.quantities.showing import UnitSystem
from pullbook.records.codec_plan import plan_to_json

SCHEMA = json.loads((Path(__file__).resolve().parents[3] / "docs" / "plan.schema.json").read_text(encoding="utf-8"))
NAMED = (
    "# my own remark\n"
    + PLAIN.replace('name = "B"', 'name = "<b>&B"')
    + """
[plan]
mean_torque = "180 N m"
warm_up = "10 min"
"""
)

pytestmark = pytest.mark.xdist_group("plan")  # a plan takes seconds: one worker makes it for all of these


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path: Path = tmp_path_factory.mktemp("planned")
    (path / "session.toml").write_text(NAMED, encoding="utf-8")
    (path / "engine.toml").write_text("# an engine\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def planned(folder: Path) -> Planned:
    words = PlanWords(resolve="3 N m over 2500..3500 rpm", within="5 h")
    return plan_session(folder, words, Silent())


def test_offers_rise_in_time_and_odds_and_fit_into_the_time(planned: Planned) -> None:
    offers = planned.plan.offers
    assert all(offer.seconds <= 5 * 3600.0 for offer in offers)
    assert [offer.seconds for offer in offers] == sorted(offer.seconds for offer in offers)
    assert [offer.odds for offer in offers] == sorted(offer.odds for offer in offers)
    assert planned.plan.targets[0].percent == pytest.approx(100.0 * 3.0 / 180.0)
    for offer in offers:
        assert {step.build for step in offer.steps} == {"A", "<b>&B"}
        # Warm-up of 10 minutes, 50 for each change with 10 more to warm up, 6 for each pull.
        assert offer.seconds == 60.0 * (10 + 60 * (len(offer.steps) - 1) + 6 * offer.pulls)


def test_the_json_keeps_to_its_schema(planned: Planned) -> None:
    written: Any = json.loads(json.dumps(plan_to_json(planned.plan), allow_nan=False))
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(written, SCHEMA, cls=jsonschema.Draft202012Validator)
    assert written["offers"][0]["targets"][0]["unit"] == "N m"


def test_the_screen_shows_the_order_the_odds_and_what_was_assumed(planned: Planned) -> None:
    text = "\n".join(plan_lines(planned.plan, UnitSystem.METRIC, 100))
    assert "B - A: a true difference of 3.0 N m (1.7 %) over 2,500 to 3,500 rpm." in text
    assert "A pull takes 6 minutes" in text
    assert "usual values that nobody measured" in text
    assert "2.2 lb ft" in "\n".join(plan_lines(planned.plan, UnitSystem.US, 100))


def test_a_written_plan_is_a_sound_session_that_waits_for_its_files(
    planned: Planned, folder: Path, tmp_path: Path
) -> None:
    from pullbook.app.compare_builds import compare_session
    from pullbook.app.question import Question

    offer = planned.plan.offers[-1]
    goal = tmp_path / "run"
    written = write_plan(planned, offer, folder, goal, UnitSystem.METRIC)
    assert [path.name for path in written] == ["run-sheet.html", "session.toml", "engine.toml"]
    text = (goal / "session.toml").read_text(encoding="utf-8")
    assert text.startswith("# my own remark\n")
    assert find_problems(text) == ()
    session = parse_session(text)
    assert [entry.build for entry in session.pulls] == [s.build for s in offer.steps for _ in range(s.pulls)]
    with pytest.raises(InputError, match=rf"{offer.pulls} of {offer.pulls} pulls have no file yet"):
        compare_session(goal, Question(), Silent())
    with pytest.raises(InputError, match="a file is in the way"):
        write_plan(planned, offer, folder, goal, UnitSystem.METRIC)


def test_a_written_plan_can_be_planned_again(planned: Planned, folder: Path, tmp_path: Path) -> None:
    goal = tmp_path / "again"
    write_plan(planned, planned.plan.offers[0], folder, goal, UnitSystem.METRIC)
    assert parse_session((goal / "session.toml").read_text(encoding="utf-8"), tested=False).plan.mean_torque == 180.0


def test_looks_at_the_pulls_of_before_do_not_come_along(planned: Planned, folder: Path, tmp_path: Path) -> None:
    before = replace(planned, text=NAMED + 'looks = ["6 of 12"]\n')
    assert parse_session(before.text, tested=False).plan.looks == (6,)
    write_plan(before, planned.plan.offers[0], folder, tmp_path / "new", UnitSystem.METRIC)
    plan = parse_session((tmp_path / "new" / "session.toml").read_text(encoding="utf-8")).plan
    assert (plan.looks, plan.planned, plan.mean_torque) == ((), 0, 180.0)


def test_the_run_sheet_is_one_page_without_scripts_and_with_everything_to_fill_in(
    planned: Planned, folder: Path, tmp_path: Path
) -> None:
    offer = planned.plan.offers[0]
    write_plan(planned, offer, folder, tmp_path / "sheet", UnitSystem.METRIC)
    page = (tmp_path / "sheet" / "run-sheet.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "<b>&B" not in page
    assert "&lt;b&gt;&amp;B" in page
    assert page.count('<td class="file">') == offer.pulls
    for words in (
        "Air temperature, °C",
        "Air pressure, kPa",
        "Oil temperature",
        "Fit the guards",
        "carbon monoxide",
        "warm up until oil and coolant",
        "Number on the part",
        "@media print",
    ):
        assert words in page  # fmt: skip


def test_an_offer_is_chosen_by_its_name(planned: Planned) -> None:
    plan = planned.plan
    assert chosen_offer(plan, "") is plan.offers[0]
    assert chosen_offer(plan, "Surest") is plan.offers[-1]
    with pytest.raises(InputError, match="no such offer"):
        chosen_offer(plan, "dearest")


def test_a_rehearsal_puts_shares_beside_the_odds(planned: Planned) -> None:
    first = replace(planned.plan, offers=planned.plan.offers[:1])
    seen = rehearse_plan(first, planned.session, Rehearsal(sessions=20, workers=1), Silent()).offers[0]
    assert seen.sessions == 20
    assert abs(seen.rehearsed[0] - seen.odds) < 0.27  # three standard errors of 20 sessions at 80 %


def test_a_size_that_no_order_tells_in_the_time_gets_the_smallest_and_the_time(folder: Path) -> None:
    plan = plan_session(folder, PlanWords(resolve="2.4 %", within="2 h"), Silent()).plan
    (missing,) = plan.unanswered
    assert plan.offers[-1].odds < 0.8
    assert missing.smallest > 2.4
    assert missing.seconds is not None
    assert missing.seconds > 2 * 3600.0
    says = unanswered_sentence(missing, plan.targets[0], plan, UnitSystem.METRIC)
    assert "no order within 2 h decides 2.4 % with 80 % odds; the smallest difference that can be decided is" in says


def test_a_time_in_which_nothing_can_be_run_is_refused_with_the_time_it_takes(folder: Path) -> None:
    with pytest.raises(RefusalError, match=r"one repeat take 1 h 28 min, longer than 1 h"):
        plan_session(folder, PlanWords(within="1 h"), Silent())


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (PlanWords(resolve="6"), "no difference of torque or power"),
        (PlanWords(resolve="6 degC"), "no difference of torque or power"),
        (PlanWords(resolve="-2 %"), "above zero"),
        (PlanWords(resolve="0.001 %"), "from 0.01 to 50 %"),
        (PlanWords(resolve="100 N m"), "from 0.01 to 50 %"),
        (PlanWords(resolve="1e400 N m"), "from 0.01 to 50 %"),
        (PlanWords(resolve="2 % over 2500..9000 rpm"), "beyond the range"),
        (PlanWords(within="soon"), "number with a unit of time"),
        (PlanWords(within="0 h"), "above zero"),
        (PlanWords(within="900 days"), "no session takes that long"),
        (PlanWords(resolve="2 %", of="C"), "no such build"),
        (PlanWords(resolve="2 %", of="A"), "compared with itself"),
        (PlanWords(of="A"), "a pair needs the size"),
        (PlanWords(odds=100.0), "between 50 and 99"),
        (PlanWords(resolve="5 kW over 2500..3500 rpm", odds=20.0), "between 50 and 99"),
    ],
)
def test_wrong_words_are_refused_in_one_sentence(folder: Path, words: PlanWords, says: str) -> None:
    with pytest.raises(InputError, match=says):
        plan_session(folder, words, Silent())


def test_words_of_sizes_and_times() -> None:
    assert resolve_of("5 lb ft at 4000 rpm").window == (4000.0, 4000.0)
    assert resolve_of("1.5 %").size == 1.5
    assert resolve_of("5 hp in 5000..6000 rpm").unit == "W"
    assert time_of("2 days", 36_000.0) == 72_000.0
    assert time_of("1.5 h", 1.0) == 5400.0
