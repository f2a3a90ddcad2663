"""In the middle of a session: what is open, what decides it soonest, and what looking costs."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from session_folder import CLAIM, write_session

from pullbook.app.compare_builds import compare_session
from pullbook.app.load_session import load_session
from pullbook.app.looks import look_confidence
from pullbook.app.next_pull import next_pull
from pullbook.app.plan_session import PlanWords, plan_session
from pullbook.app.ports import Silent
from pullbook.app.question import Question
from pullbook.capture.session_file import parse_session
from pullbook.cli.show_next import next_lines
from pullbook.errors import PullbookError, RefusalError
from pullbook.plan.next_choice import decision_odds
from pullbook.quantities.showing import UnitSystem
from pullbook.records.codec_outlook import outlook_to_json
from pullbook.records.outlook import Outlook, State

SCHEMA = json.loads((Path(__file__).resolve().parents[3] / "docs" / "next.schema.json").read_text(encoding="utf-8"))


pytestmark = pytest.mark.xdist_group("next")  # one worker looks at each session for all of these


def under_way(folder: Path, made: int, gain: float = 6.0, order: str = "AABBAABB", extra: str = CLAIM) -> Path:
    """Session of which only the first pulls have files."""
    path = write_session(folder / "s", order, gain=gain, extra=extra)
    for entry in parse_session((path / "session.toml").read_text(encoding="utf-8")).pulls[made:]:
        (path / entry.file).unlink()
    return path


def looked(path: Path, resolve: str = "") -> Outlook:
    return next_pull(path, PlanWords(resolve=resolve), Silent())


@pytest.fixture(scope="module")
def hopeless(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Outlook]:
    """The truth is a quarter of a newton metre below the number of the claim, and two pulls are left."""
    path = under_way(tmp_path_factory.mktemp("hopeless"), 6, gain=1.0)
    return path, looked(path)


@pytest.fixture(scope="module")
def unseen(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Outlook]:
    """Two pulls of one build, and nothing of the other."""
    path = under_way(tmp_path_factory.mktemp("unseen"), 2)
    return path, looked(path)


def text_of(outlook: Outlook) -> str:
    return "\n".join(next_lines(outlook, UnitSystem.METRIC, 400))


def test_an_open_claim_gets_choices_by_minutes_and_odds_and_the_look_is_kept(tmp_path: Path) -> None:
    path = under_way(tmp_path, 6, gain=4.0, order="AABBAABBAABB")
    outlook = looked(path)
    assert [one.state for one in outlook.standings] == [State.OPEN]
    assert not outlook.stop
    assert (outlook.made, outlook.planned, outlook.looks) == (6, 12, (6,))
    assert 'looks = ["6 of 12"]' in (path / "session.toml").read_text(encoding="utf-8")
    assert "The look is written into session.toml ([plan] looks)" in text_of(outlook)
    planned = next(one for one in outlook.choices if one.planned and one.pulls == 2)
    assert planned.steps == (("B", 2),)
    assert planned.seconds == 40 * 60 + 2 * 6 * 60  # a change that nobody stated, and two pulls
    stay = next(one for one in outlook.choices if one.steps == (("A", 1),))
    assert (stay.changes, stay.seconds) == (0, 360.0)
    assert all(one.pulls <= 6 for one in outlook.choices)  # no more than the plan has left
    each = [one.seconds / max(one.best, 1e-9) for one in outlook.choices]
    assert each == sorted(each)
    assert "6 of 12 planned pulls made; one question of 1 open." in text_of(outlook)


def test_the_same_look_again_costs_nothing(hopeless: tuple[Path, Outlook]) -> None:
    path, first = hopeless
    text = (path / "session.toml").read_text(encoding="utf-8")
    assert looked(path).confidence == first.confidence
    assert (path / "session.toml").read_text(encoding="utf-8") == text


def test_it_stops_where_everything_is_decided(tmp_path: Path) -> None:
    outlook = looked(under_way(tmp_path, 6, gain=20.0))
    assert outlook.standings[0].answer == "supported"
    assert not outlook.choices
    assert text_of(outlook).startswith("stop: everything that was asked is decided (6 of 8 planned pulls made).")


def test_it_stops_where_all_pulls_of_the_plan_are_made(tmp_path: Path) -> None:
    outlook = looked(under_way(tmp_path, 8, gain=1.9))
    assert outlook.stop == "all pulls of the plan are made; more-at-the-top stays open"
    assert outlook.confidence == pytest.approx(0.95)
    said = text_of(outlook)
    assert "looked at first after 8 of 8 planned pulls: intervals, bands and claims are held at 95 %" in said
    assert "instead of" not in said


def test_it_stops_where_nothing_decides_within_reason(hopeless: tuple[Path, Outlook]) -> None:
    outlook = hopeless[1]
    assert outlook.stop.startswith("nothing that is left of the plan decides more-at-the-top with more than")
    assert max(one.best for one in outlook.choices) < 0.1


def test_before_anything_can_be_said_no_look_is_kept_and_the_plan_is_judged_by_its_odds(
    unseen: tuple[Path, Outlook],
) -> None:
    path, outlook = unseen
    assert [one.state for one in outlook.standings] == [State.UNMEASURED]
    assert outlook.looks == ()
    assert "written into session.toml" not in text_of(outlook)
    assert "looks" not in (path / "session.toml").read_text(encoding="utf-8")
    assert max(one.best for one in outlook.choices if one.planned) > 0.0


def test_without_claims_a_gain_is_decided_by_its_interval(tmp_path: Path) -> None:
    outlook = looked(under_way(tmp_path, 6, gain=20.0, extra=""), resolve="8 N m over 4500..6000 rpm")
    assert (outlook.standings[0].target, outlook.standings[0].answer) == ("B - A", "gain")
    # 180 N m is the top of the curve; its mean over the range is below, and nobody stated it.
    assert 100.0 * 8.0 / 180.0 < outlook.targets[0].percent < 100.0 * 8.0 / 150.0
    assert "those of the pulls of A that were made" in text_of(outlook)


def test_a_comparison_after_looks_is_held_higher_and_says_so_and_without_looks_it_is_as_ever(
    hopeless: tuple[Path, Outlook], tmp_path: Path
) -> None:
    path = hopeless[0]
    # The same files again, all of them this time.
    whole = write_session(tmp_path / "whole", gain=1.0)
    plain = compare_session(whole, Question(), Silent()).findings
    assert plain.confidence == 0.95
    assert not any("looked at on the way" in said for said in plain.assumptions)
    (whole / "session.toml").write_text((path / "session.toml").read_text(encoding="utf-8"), encoding="utf-8")
    findings = compare_session(whole, Question(), Silent()).findings
    # One look at three quarters of the pulls: by SciPy's bivariate normal, both sides of 2.5 % (see test_spending).
    assert findings.confidence == pytest.approx(0.9605, abs=0.002)
    assert any("after 6 of 8 planned pulls" in said for said in findings.assumptions)
    assert findings.claims[0].high - findings.claims[0].low > plain.claims[0].high - plain.claims[0].low


def test_pulls_beyond_a_plan_that_was_looked_at_in_full_are_refused(tmp_path: Path) -> None:
    path = write_session(tmp_path / "s", gain=1.0)
    session = load_session(path, Silent()).session
    spent_all = replace(session, plan=replace(session.plan, looks=(4, 6), planned=6))
    with pytest.raises(RefusalError, match="all spent at the look after 6 of 6"):
        look_confidence(spent_all)
    early = replace(session, pulls=session.pulls[:1], plan=replace(session.plan, looks=(1,), planned=12))
    with pytest.raises(RefusalError, match="too early to look"):
        look_confidence(early)


def test_a_session_without_planned_pulls_is_sent_to_the_plan(tmp_path: Path) -> None:
    path = write_session(tmp_path / "s")
    text = (path / "session.toml").read_text(encoding="utf-8")
    (path / "session.toml").write_text(text[: text.index("[[pull]]")], encoding="utf-8")
    with pytest.raises(PullbookError, match="no pulls are planned"):
        looked(path)


@pytest.mark.parametrize("looks", ['["6 of 8", "7 of 9"]', '["7 of 8", "6 of 8"]', '["six"]', "[6]"])
def test_looks_that_cannot_be_meant_are_refused(tmp_path: Path, looks: str) -> None:
    path = write_session(tmp_path / "s")
    text = (path / "session.toml").read_text(encoding="utf-8")
    with pytest.raises(PullbookError, match="looks"):
        parse_session(text + f"\n[plan]\nlooks = {looks}\n")


def test_odds_of_a_decision_are_those_of_simulated_ends() -> None:
    # Normal pulls of known scatter: the mean after 4, and after 8, of a truth that has a flat prior.
    generator = np.random.default_rng(8)
    truth = 0.6 + 0.5 * generator.standard_normal(200_000)  # what a mean of 0.6 after 4 pulls of scatter 1 leaves
    after = 0.5 * 0.6 + 0.5 * (truth + 0.5 * generator.standard_normal(truth.size))
    seen = float((abs(after) > 1.96 / 8**0.5).mean())
    odds = decision_odds(0.6, 0.5, (1.96 * 0.5, 0.5), (1.96 / 8**0.5, 1 / 8**0.5), 1.96)
    assert odds == pytest.approx(seen, abs=0.005)


def test_the_json_keeps_to_its_schema(hopeless: tuple[Path, Outlook], unseen: tuple[Path, Outlook]) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    written, unmeasured = (
        json.loads(json.dumps(outlook_to_json(one), allow_nan=False)) for one in (hopeless[1], unseen[1])
    )
    for one in (written, unmeasured):
        jsonschema.validate(one, SCHEMA, cls=jsonschema.Draft202012Validator)
    assert written["questions"][0]["unit"] == "N m"
    assert unmeasured["questions"][0]["value"] is None


def test_a_plan_reads_the_mean_torque_from_pulls_that_were_made(tmp_path: Path) -> None:
    path = under_way(tmp_path, 2, extra="")
    plan = plan_session(path, PlanWords(resolve="9 N m", within="3 h"), Silent()).plan
    # 180 N m less 30 ((rpm - 4500) / 2500)^2 from 2,000 to 6,500 rpm: 30 (1 + 0.8^2 - 0.8) / 3 less on average, 171.6.
    # SAE J1349 makes it about 0.9 % more: 1.18 (99.0 / 97.8) sqrt(295 / 298) - 0.18 with 1.2 kPa of water vapour.
    assert 100.0 * 9.0 / 176.0 < plan.targets[0].percent < 100.0 * 9.0 / 168.0
    assert any("those of the pulls of A that were made" in said for said in plan.assumptions)
