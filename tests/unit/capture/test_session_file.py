"""A session file is understood as its reference page says."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from session_texts import FULL, SMALL

from pullbook.capture.session_file import parse_session
from pullbook.errors import SessionFileError
from pullbook.quantities.channels import Channel
from pullbook.records.build import Ignition, Induction
from pullbook.records.declaration import Air, ColumnRule, Quantity, Standard
from pullbook.records.session import Dyno

LB_FT = 1.3558179483314004  # N m, exact pound and foot (NIST SP 811, appendix B)


def changed(old: str, new: str, *, text: str = FULL) -> str:
    assert text.count(old) >= 1, f"the sample has no {old!r}"
    return text.replace(old, new, 1)


def test_every_value_arrives_in_si() -> None:
    session = parse_session(FULL)
    assert session.title == "Runner length and header on a 2.2 litre four"
    assert session.notes == "Oil changed before the session.\nSecond line."
    assert session.date == date(2026, 5, 4)
    assert session.dyno is Dyno.ENGINE
    assert session.standard is Standard.SAE_J1349
    assert session.inertia == 0.21
    assert session.rpm_range == (2000.0, 6500.0)
    assert session.windows == ((2500.0, 3500.0), (5000.0, 6500.0))
    assert session.engine.displacement == pytest.approx(0.0022)
    assert session.engine.mechanical_efficiency == pytest.approx(0.85)
    assert session.engine.friction == ((3000.0, 6100.0), (6000.0, 19_400.0))
    assert [(limit.channel, limit.low, limit.high) for limit in session.limits] == [
        (Channel.AIR_TEMPERATURE, 283.15, 308.15),
        (Channel.MIXTURE, 0.84, 0.90),
        (Channel.SPARK, 20.0, 34.0),
        (Channel.OIL_TEMPERATURE, 353.15, 378.15),
        (Channel.SWEEP_RATE, 200.0, 400.0),
    ]
    assert session.factors[0].levels == ("340 mm", "260 mm")
    assert session.factors[0].change == 3000.0
    assert session.factors[1].change is None
    assert [build.name for build in session.builds] == ["A", "B", "C", "D"]
    assert session.baseline.label == "long runners"
    assert session.builds[3].levels == {"runners": "260 mm", "header": "4-2-1"}


def test_pulls_keep_the_run_order_and_their_own_words() -> None:
    first, second, third, fourth, _ = parse_session(FULL).pulls
    assert first.file == "pulls/a1.csv"
    assert first.time == datetime(2026, 5, 4, 9, 12)  # noqa: DTZ001 - a bench clock has no zone
    assert first.air.temperature == pytest.approx(297.25)
    assert first.air.pressure == pytest.approx(99_200.0)
    assert first.air.humidity == pytest.approx(0.46)
    assert (second.which, second.received, second.left_out) == (1, Standard.SAE_J607, "")
    # 75.4 degF = 24.111 degC; 29.29 inHg x 3386.389 Pa = 99 187.3 Pa (NIST SP 811, appendix B)
    assert third.air.temperature == pytest.approx(297.2611, abs=1e-4)
    assert third.air.pressure == pytest.approx(99_187.33, abs=0.01)
    assert (third.which, third.received, third.left_out) == (2, Standard.NONE, "fuel ran out")
    assert third.columns == (ColumnRule(channel=Channel.TORQUE, column="Torque corr.", unit="N m"),)
    assert fourth.refitted
    assert not first.refitted
    assert fourth.air == Air()


def test_claims_come_with_their_size_in_si_or_as_a_share() -> None:
    power, share, same = parse_session(FULL).claims
    assert (power.of, power.from_, power.where, power.at_least) == ("B", "A", None, 8000.0)
    assert power.quantity is Quantity.POWER
    assert share.at_most == pytest.approx(0.03)
    assert share.in_percent
    assert share.where == (2000.0, 3000.0)
    assert same.same_as == ("C", "A")
    assert same.where == (4200.0, 4200.0)
    assert same.within == pytest.approx(2.0 * LB_FT)
    assert same.at_least is None
    assert same.at_most is None


def test_columns_are_named_with_a_unit_or_with_that_of_the_file() -> None:
    assert parse_session(FULL).columns == (
        ColumnRule(channel=Channel.SPEED, column="Engine", unit="rpm"),
        ColumnRule(channel=Channel.TORQUE, column="Torque", unit="lb ft"),
        ColumnRule(channel=Channel.MIXTURE, column="Lambda 1"),
    )


def test_a_small_session_has_the_documented_defaults() -> None:
    session = parse_session(SMALL)
    assert session.dyno is Dyno.ENGINE
    assert session.date is None
    assert session.inertia is None
    assert session.rpm_range is None
    assert session.engine.induction is Induction.NATURAL
    assert session.engine.ignition is Ignition.SPARK
    assert session.engine.strokes == 4
    assert not any((session.factors, session.claims, session.windows, session.limits, session.columns))
    assert [(pull.which, pull.time, pull.refitted) for pull in session.pulls] == [(0, None, False)] * 2


@pytest.mark.parametrize(
    ("written", "standard"),
    [("SAE J1349", Standard.SAE_J1349), ("sae-j1349", Standard.SAE_J1349), ("STP", Standard.SAE_J607),
     ("UN R85", Standard.ISO_1585), ("iso 1585 DIESEL", Standard.ISO_1585_DIESEL), ("none", Standard.NONE),
     ("DIN 70020", Standard.DIN_70020), ("JIS D1001", Standard.JIS_D1001), ("ISO 3046", Standard.ISO_3046)],
)  # fmt: skip
def test_standards_are_known_by_full_and_short_names(written: str, standard: Standard) -> None:
    assert parse_session(changed('"SAE J1349"', f'"{written}"', text=SMALL)).standard is standard


def test_a_byte_order_mark_and_windows_line_ends_do_not_matter() -> None:
    assert parse_session("\ufeff" + SMALL.replace("\n", "\r\n")) == parse_session(SMALL)


def test_a_hard_blank_between_number_and_unit_is_a_blank() -> None:
    assert parse_session(changed('"99.2 kPa"', '"99.2\u00a0kPa"')) == parse_session(FULL)
    with pytest.raises(SessionFileError, match="one line"):
        parse_session(changed('"99.2 kPa"', '"99.2\\nkPa"'))


def test_a_time_of_day_belongs_to_the_day_of_the_session() -> None:
    text = changed("time = 2026-05-04T09:12:00", "time = 09:12:00")
    assert parse_session(text).pulls[0].time == datetime(2026, 5, 4, 9, 12)  # noqa: DTZ001 - as above


def test_the_name_of_the_file_is_in_the_message() -> None:
    with pytest.raises(SessionFileError, match=r"^runners/session\.toml: "):
        parse_session("", where="runners/session.toml")
