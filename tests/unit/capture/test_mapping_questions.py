"""Every refusal that a choice can settle asks its question, and every answer is one that settles it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from builders_tables import SOURCE, TORQUE, curve_speed, make_table, rule

from pullbook.app.column_rules import column_rules
from pullbook.capture.mapping import understand
from pullbook.capture.session_file_pulls import RECEIVED
from pullbook.errors import InputError, MappingError, PullbookError, UnitError
from pullbook.quantities.channels import Channel
from pullbook.records.declaration import ColumnRule

if TYPE_CHECKING:
    from pullbook.errors import Choice, Question
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pull import Log
    from pullbook.records.table import RawTable

SPEED = curve_speed()
POWER = TORQUE * SPEED * np.pi / 30.0  # W
LB_FT, HP = 1.3558179483314, 745.69987158227
RPM = ("RPM", "rpm")


def _rules(choice: Choice) -> tuple[ColumnRule, ...]:
    return tuple(ColumnRule(channel=Channel(c), column=column, unit=unit) for c, column, unit in choice.columns)


def _refusal(table: RawTable, rules: tuple[ColumnRule, ...] = ()) -> PullbookError:
    with pytest.raises(PullbookError) as caught:
        understand(SOURCE, table, rules)
    return caught.value


def _asked(table: RawTable, rules: tuple[ColumnRule, ...] = ()) -> Question:
    return _refusal(table, rules).questions[0]


def _answered(table: RawTable, number: int, rules: tuple[ColumnRule, ...] = ()) -> Log:
    return understand(SOURCE, table, (*rules, *_rules(_asked(table, rules).choices[number])))


def _says(question: Question) -> list[str]:
    return [choice.says for choice in question.choices]


def test_two_columns_for_torque_are_a_choice_of_the_two() -> None:
    table = make_table({RPM: SPEED, ("Torque", "Nm"): TORQUE, ("Drehmoment", "lb-ft"): TORQUE * 0.9 / LB_FT})
    question = _asked(table)
    assert (question.about, question.needed) == ("torque", True)
    assert _says(question) == ["'Torque' in N m", "'Drehmoment' in lb ft"]
    assert question.others == (("RPM", "rpm"), ("Torque", "Nm"), ("Drehmoment", "lb-ft"))
    assert _answered(table, 0).channels[Channel.TORQUE] == pytest.approx(TORQUE)
    assert _answered(table, 1).channels[Channel.TORQUE] == pytest.approx(0.9 * TORQUE)


def test_two_columns_without_a_unit_are_offered_in_each_usual_unit() -> None:
    table = make_table({RPM: SPEED, ("Torque", ""): TORQUE, ("Drehmoment", ""): 0.9 * TORQUE})
    assert _says(_asked(table)) == [
        "'Torque' in N m", "'Torque' in lb ft", "'Drehmoment' in N m", "'Drehmoment' in lb ft",
    ]  # fmt: skip
    assert _answered(table, 3).channels[Channel.TORQUE] == pytest.approx(0.9 * TORQUE * LB_FT)


def test_several_channels_in_doubt_are_several_questions() -> None:
    table = make_table(
        {RPM: SPEED, ("Torque", "Nm"): TORQUE, ("Drehmoment", "Nm"): 0.9 * TORQUE,
         ("Air temp 1", "degC"): SPEED * 0 + 20, ("Air temp 2", "degC"): SPEED * 0 + 30}
    )  # fmt: skip
    error = _refusal(table)
    assert [question.about for question in error.questions] == ["torque", "air_temperature"]
    rules = tuple(rule for question in error.questions for rule in _rules(question.choices[1]))
    log = understand(SOURCE, table, rules)
    assert log.channels[Channel.AIR_TEMPERATURE][0] == pytest.approx(303.15)


@pytest.mark.parametrize(("name", "unit"), [("Torque", ""), ("Torque", "xyz")])
def test_a_missing_or_unknown_unit_is_a_choice_of_units(name: str, unit: str) -> None:
    table = make_table({RPM: SPEED, (name, unit): TORQUE})
    question = _asked(table)
    assert _says(question) == ["'Torque' in N m", "'Torque' in lb ft"]
    assert {"kN m", "kgf m", "lb in"} <= set(question.units), "less usual ones can be named"
    assert "kW" not in question.units
    assert _answered(table, 1).channels[Channel.TORQUE] == pytest.approx(TORQUE * LB_FT)


def test_an_engine_speed_that_cannot_be_in_its_unit_is_a_choice_of_units() -> None:
    table = make_table({("RPM", "rpm"): SPEED / 1000.0, ("Torque", "Nm"): TORQUE})
    question = _asked(table)
    assert "krpm" in question.units
    log = understand(SOURCE, table, (rule(Channel.SPEED, question.others[0][0], "krpm"),))
    assert log.channels[Channel.SPEED] == pytest.approx(SPEED)


def test_a_column_in_volts_is_offered_as_the_load_signal() -> None:
    table = make_table({RPM: SPEED, ("Analog 8", "volts"): TORQUE / 100.0})
    error = _refusal(table)
    assert isinstance(error, MappingError)
    assert [question.about for question in error.questions] == ["load_signal", "torque", "power"]
    assert error.questions[0].says == "is 'Analog 8' the load cell?"
    two = make_table({RPM: SPEED, ("Analog 8", "V"): TORQUE / 100.0, ("Analog 9", "V"): TORQUE / 90.0})
    assert _asked(two).says == "which of these columns is the load cell?"
    assert _answered(table, 0).channels[Channel.LOAD_SIGNAL] == pytest.approx(TORQUE / 100.0)


def test_a_file_in_which_no_name_is_known_asks_for_the_columns_one_after_the_other() -> None:
    table = make_table({("Drehz", "U/min"): SPEED, ("Kanal 7", ""): TORQUE})
    error = _refusal(table)
    assert error.questions
    found: dict[str, str] = {"speed": "Drehz", "torque": "Kanal 7"}
    rules: tuple[ColumnRule, ...] = ()
    for _ in range(3):
        try:
            log = understand(SOURCE, table, rules)
            break
        except InputError as refused:
            question = refused.questions[0]
            assert found[question.about] in dict(question.others)
            rules = (*rules, rule(Channel(question.about), found[question.about], question.units[0]))
    assert log.channels[Channel.TORQUE] == pytest.approx(TORQUE)


def test_a_column_in_a_unit_of_torque_is_proposed_whatever_its_name() -> None:
    table = make_table({RPM: SPEED, ("Kanal 7", "lb-ft"): TORQUE / LB_FT, ("Kanal 8", "kW"): POWER / 1000.0})
    error = _refusal(table)
    assert [(question.about, _says(question)) for question in error.questions] == [
        ("torque", ["'Kanal 7' in lb ft"]), ("power", ["'Kanal 8' in kW"]),
    ]  # fmt: skip
    assert _answered(table, 0).channels[Channel.TORQUE] == pytest.approx(TORQUE)


def test_a_shaft_speed_of_unknown_shaft_can_be_named_engine_speed() -> None:
    table = make_table({("Brake shaft", "rpm"): SPEED, ("Torque", "Nm"): TORQUE})
    question = _asked(table)
    assert (question.about, _says(question)) == ("speed", ["'Brake shaft' in rpm"])
    assert _answered(table, 0).channels[Channel.SPEED] == pytest.approx(SPEED)


def test_power_that_contradicts_torque_is_a_choice_of_the_units_that_agree_or_of_leaving_it() -> None:
    table = make_table({RPM: SPEED, ("Torque", "Nm"): TORQUE / LB_FT, ("Power", "kW"): POWER / 1000.0})
    question = _asked(table)
    assert "torque is in lb ft" in _says(question)
    right = _says(question).index("torque is in lb ft")
    assert _answered(table, right).channels[Channel.TORQUE] == pytest.approx(TORQUE)
    left = _answered(table, len(question.choices) - 1)
    assert left.channels[Channel.TORQUE] == pytest.approx(TORQUE / LB_FT)
    assert any("torque times speed over power" in doubt for doubt in left.doubts), "the doubt stays"


def test_every_answer_about_torque_and_power_makes_the_file_readable() -> None:
    table = make_table({RPM: SPEED, ("Torque", "kgf m"): TORQUE, ("Power", "W"): POWER / HP})
    question = _asked(table)
    for choice in question.choices:
        log = understand(SOURCE, table, _rules(choice))
        found = {(one.channel.value, one.column, one.unit) for one in log.choices}
        assert set(choice.columns) <= found


def test_a_rule_for_a_column_that_is_not_there_offers_those_of_a_like_name_and_of_a_fitting_unit() -> None:
    table = make_table({RPM: SPEED, ("Torque", "Nm"): TORQUE, ("Moment", "lb-ft"): TORQUE, ("Oil", "degC"): SPEED / 50})
    question = _asked(table, (rule(Channel.TORQUE, "Torqe"),))
    assert _says(question) == ["'Torque' in N m", "'Moment' in lb ft"]
    assert _answered(table, 1).channels[Channel.TORQUE] == pytest.approx(TORQUE * LB_FT)


def test_a_rule_without_a_unit_for_a_column_without_one_is_a_choice_of_units() -> None:
    table = make_table({RPM: SPEED, ("Load cell", ""): TORQUE})
    error = _refusal(table, (rule(Channel.TORQUE, "Load cell"),))
    assert isinstance(error, UnitError)
    assert _says(error.questions[0]) == ["'Load cell' in N m", "'Load cell' in lb ft"]


@pytest.mark.parametrize(
    ("column", "first"),
    [
        ({("Oil temp", ""): np.full(91, 88.0)}, "'Oil temp' in degC"),
        ({("Throttle", "%"): np.full(91, 1.0)}, "'Throttle' in parts of one"),
        (
            {("Oil temp 1", "degC"): np.full(91, 80.0), ("Oil temp 2", "degC"): np.full(91, 90.0)},
            "'Oil temp 1' in degC",
        ),
        ({("Oil pressure", "kp"): np.full(91, 4.0)}, "'Oil pressure' in bar"),
    ],
)
def test_what_was_assumed_or_left_out_can_be_settled_as_well(column: dict[tuple[str, str], object], first: str) -> None:
    table = make_table({RPM: SPEED, ("Torque", "Nm"): TORQUE, **column})
    log = understand(SOURCE, table)
    (question,) = log.questions
    assert not question.needed
    assert question.doubt in log.doubts
    assert _says(question)[0] == first
    settled = understand(SOURCE, table, _rules(question.choices[0]))
    assert question.doubt not in settled.doubts
    assert settled.questions == ()


def test_a_corrected_column_asks_for_the_standard_in_words_that_the_session_file_knows() -> None:
    table = make_table({RPM: SPEED, ("Torque corrected", "Nm"): TORQUE})
    (question,) = understand(SOURCE, table).questions
    assert question.about == "received"
    assert {choice.received for choice in question.choices} <= RECEIVED.keys()
    assert {"SAE J1349", "observed"} <= {choice.received for choice in question.choices}


def test_of_two_columns_of_one_name_the_unit_says_which() -> None:
    table = make_table({RPM: SPEED, ("Torque", "Nm"): TORQUE, ("Torque", "lb-ft"): 0.9 * TORQUE / LB_FT})
    question = _asked(table)
    assert _says(question) == ["'Torque' in N m", "'Torque' in lb ft"]
    assert question.others == (("RPM", "rpm"),), "in another unit the name alone would not say which"
    assert _answered(table, 0).channels[Channel.TORQUE] == pytest.approx(TORQUE)
    assert _answered(table, 1).channels[Channel.TORQUE] == pytest.approx(0.9 * TORQUE)


def test_of_two_columns_of_one_name_and_one_unit_no_choice_says_which() -> None:
    table = make_table({RPM: SPEED, ("Torque", "Nm"): TORQUE, ("Torque", "N m"): 0.9 * TORQUE})
    assert _asked(table).choices == ()
    refused = _refusal(table, (rule(Channel.TORQUE, "Torque"),))
    assert refused.questions == ()
    assert refused.remedy == "give the columns different names in the file"


def test_a_load_cell_in_a_unit_of_force_or_mass_is_settled_by_its_choice_in_a_session_file_too() -> None:
    table = make_table({RPM: SPEED, ("Load", "kg"): TORQUE / 2.0})
    question = _asked(table)
    assert (question.about, _says(question)) == ("load_signal", ["'Load' in kg, a signal that is compared in per cent"])
    (channel, column, unit) = question.choices[0].columns[0]
    rules = column_rules({channel: {"column": column, "unit": unit}})
    assert understand(SOURCE, table, rules).channels[Channel.LOAD_SIGNAL] == pytest.approx(TORQUE / 2.0)


@pytest.mark.parametrize(("values", "says"), [(SPEED * 0, "zero in all"), (SPEED * np.nan, "no value in any")])
def test_an_engine_speed_that_is_never_there_is_refused_without_a_question(values: FloatArray, says: str) -> None:
    table = make_table({RPM: values, ("Torque", "Nm"): TORQUE})
    error = _refusal(table, (rule(Channel.SPEED, "RPM", "rpm"),))
    assert says in error.what
    assert error.questions == ()
