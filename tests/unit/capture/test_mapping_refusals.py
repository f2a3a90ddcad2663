"""What a table is refused for, or what is left out of it, and the line that settles it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from builders_tables import SOURCE, TORQUE, curve_speed, make_table, rule

from pullbook.capture.mapping import understand
from pullbook.errors import FileRefusedError, MappingError, UnitError
from pullbook.quantities.channels import Channel

SPEED = curve_speed()
LB_FT = 1.3558179483314  # N m, NIST SP 811 appendix B


def columns(**more: Any) -> dict[tuple[str, str], Any]:
    """Table of speed and torque, with more columns written ``name__unit``."""
    table: dict[tuple[str, str], Any] = {("RPM", ""): SPEED, ("Torque", "N m"): TORQUE}
    table.update({(name.split("__")[0], (*name.split("__"), "")[1]): values for name, values in more.items()})
    return table


def refusal(table: dict[tuple[str, str], Any], *rules: Any) -> str:
    """Sentence with which a table is refused for an ambiguous or missing column."""
    with pytest.raises(MappingError) as caught:
        understand(SOURCE, make_table(table), rules)
    return str(caught.value)


def test_columns_that_are_no_channel_are_listed_and_nothing_else_is() -> None:
    log = understand(SOURCE, make_table(columns(Gear=SPEED * 0 + 3, Target_Lambda=SPEED * 0 + 0.9)))
    assert log.ignored == ("Gear", "Target_Lambda")


def test_humidity_in_per_cent_under_no_unit_is_seen_by_its_range() -> None:
    log = understand(SOURCE, make_table(columns(Humidity__ratio=SPEED * 0 + 46.0)))
    assert log.channels[Channel.AIR_HUMIDITY] == pytest.approx(0.46)
    assert any("per cent" in doubt for doubt in log.doubts)


def test_corrected_and_uncorrected_torque_are_refused_and_both_are_named() -> None:
    said = refusal({("RPM", ""): SPEED, ("Torque Corr", "lb-ft"): TORQUE, ("Torque Uncorr", "lb-ft"): TORQUE * 0.97})
    assert "torque could be 'Torque Corr', 'Torque Uncorr'" in said
    assert "under [columns] in session.toml" in said
    assert 'torque = { column = "Torque Corr", unit = "lb ft" }' in said
    assert 'torque = { column = "Torque Uncorr", unit = "lb ft" }' in said


def test_the_same_torque_in_two_units_is_one_torque() -> None:
    log = understand(
        SOURCE, make_table({("RPM", ""): SPEED, ("Nm", ""): TORQUE.round(1), ("ft-lbs", ""): (TORQUE / LB_FT).round(1)})
    )
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE.round(1))


def test_torque_without_a_unit_and_without_power_is_refused_with_both_lines() -> None:
    said = refusal({("RPM", ""): SPEED, ("Torque", ""): TORQUE})
    assert "the unit of column 'Torque' is missing" in said
    assert 'torque = { column = "Torque", unit = "N m" } or torque = { column = "Torque", unit = "lb ft" }' in said


def test_an_unknown_unit_of_torque_is_refused_by_its_name() -> None:
    assert "the unit of column 'Torque' is unknown ('furlong')" in refusal(
        {("RPM", ""): SPEED, ("Torque", "furlong"): TORQUE}
    )


def test_rpm_without_a_unit_in_thousands_is_refused() -> None:
    said = refusal({("RPM", ""): SPEED / 1000.0, ("Torque", "N m"): TORQUE})
    assert "the fastest row would be 6.5 rpm" in said
    assert 'speed = { column = "RPM", unit = "rpm" }' in said


def test_a_speed_without_a_unit_is_taken_for_rpm_only_with_a_doubt() -> None:
    log = understand(SOURCE, make_table({("Engine speed", ""): SPEED, ("Torque", "N m"): TORQUE}))
    assert any("speed was assumed to be in rpm" in doubt for doubt in log.doubts)
    with pytest.raises(MappingError, match="unit of column 'Engine speed' is missing"):
        understand(SOURCE, make_table({("Engine speed", ""): SPEED * math.pi / 30.0, ("Torque", "N m"): TORQUE}))


def test_numbers_that_fit_no_unit_are_left_out_with_a_doubt_and_never_guessed() -> None:
    log = understand(SOURCE, make_table(columns(Baro=SPEED * 0 + 500.0)))
    assert Channel.AIR_PRESSURE not in log.channels
    assert any("'Baro' is missing, so it was left out" in doubt for doubt in log.doubts)


def test_a_channel_in_volts_is_left_out_by_name() -> None:
    log = understand(SOURCE, make_table(columns(MAP__volts=SPEED * 0 + 2.0)))
    assert Channel.MANIFOLD_PRESSURE not in log.channels
    assert any("'MAP' is in V, which is no unit of pressure" in doubt for doubt in log.doubts)


def test_two_columns_for_the_barometer_are_refused() -> None:
    said = refusal(columns(**{"Baro__kPa": SPEED * 0 + 99.2, "Ambient pressure__kPa": SPEED * 0 + 98.1}))
    assert "air pressure could be 'Baro', 'Ambient pressure'" in said


def test_two_columns_for_a_bystander_are_left_out_with_the_line() -> None:
    log = understand(SOURCE, make_table(columns(**{"Oil Temp__C": SPEED * 0 + 90.0, "Sump temp__C": SPEED * 0 + 99.0})))
    assert Channel.OIL_TEMPERATURE not in log.channels
    assert any('oil_temperature = { column = "Oil Temp", unit = "degC" }' in doubt for doubt in log.doubts)


def test_road_speed_without_engine_speed_is_refused() -> None:
    with pytest.raises(FileRefusedError, match=r"no engine speed among the 2 columns .road speed alone"):
        understand(SOURCE, make_table({("Dyno Speed", "km/h"): SPEED / 50, ("Tractive Effort", "N"): TORQUE}))


def test_no_engine_speed_is_refused() -> None:
    with pytest.raises(FileRefusedError, match=r"no engine speed among the 1 columns"):
        understand(SOURCE, make_table({("Torque", "N m"): TORQUE}))


def test_an_engine_that_never_ran_is_refused() -> None:
    with pytest.raises(FileRefusedError, match="engine speed is zero in all 91 rows"):
        understand(SOURCE, make_table({("RPM", ""): SPEED * 0, ("Torque", "N m"): TORQUE}))


def test_no_torque_of_any_kind_is_refused() -> None:
    with pytest.raises(FileRefusedError, match="no torque, power or load signal among the 2 columns"):
        understand(SOURCE, make_table({("RPM", ""): SPEED, ("TPS", "%"): SPEED * 0 + 99.0}))


def test_two_rows_are_no_table() -> None:
    with pytest.raises(FileRefusedError, match="only 2 row"):
        understand(SOURCE, make_table({("RPM", ""): SPEED[:2], ("Torque", "N m"): TORQUE[:2]}))


def test_a_generic_analogue_channel_is_never_taken_on_its_own() -> None:
    said = refusal({("RPM", ""): SPEED, ("Analog #8", "volts"): TORQUE / 70.0, ("Battery Volt", "V"): SPEED * 0 + 13.8})
    assert 'load_signal = { column = "Analog #8", unit = "V" }' in said
    assert "Battery" not in said


def test_two_load_cells_in_volts_are_refused() -> None:
    said = refusal({("RPM", ""): SPEED, ("Load cell 1", "V"): TORQUE / 70.0, ("Load cell 2", "V"): TORQUE / 71.0})
    assert "load signal could be 'Load cell 1', 'Load cell 2'" in said


def test_a_rule_wins_over_the_unit_of_the_file() -> None:
    table = make_table({("RPM", ""): SPEED, ("Torque", "N m"): TORQUE / LB_FT})
    log = understand(SOURCE, table, (rule(Channel.TORQUE, "Torque", "lb ft"),))
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE)
    assert any(choice.reason == "the session says so" for choice in log.choices)


def test_a_rule_for_a_column_that_is_not_there_names_the_nearest() -> None:
    said = refusal(columns(), rule(Channel.TORQUE, "Torqe", "N m"))
    assert "the file has no such column ('Torqe'); did you mean 'Torque'? the file has 'RPM', 'Torque'" in said


def test_a_rule_without_a_unit_where_the_file_has_none_is_refused() -> None:
    with pytest.raises(UnitError, match="the unit of column 'Signal' is missing in the rule and in the file"):
        understand(SOURCE, make_table(columns(Signal=TORQUE)), (rule(Channel.MANIFOLD_PRESSURE, "Signal"),))


def test_a_rule_with_a_unit_of_another_dimension_is_refused() -> None:
    with pytest.raises(UnitError, match="this is a unit of pressure, but a torque is needed"):
        understand(SOURCE, make_table(columns()), (rule(Channel.TORQUE, "Torque", "kPa"),))


def test_two_rules_for_one_column_are_refused() -> None:
    said = refusal(columns(), rule(Channel.TORQUE, "Torque", "N m"), rule(Channel.LOAD_SIGNAL, "Torque", "V"))
    assert "the rules take column 'Torque' for torque and for load_signal" in said


def test_a_column_of_blanks_is_no_channel() -> None:
    log = understand(SOURCE, make_table(columns(**{"Oil Temp__C": SPEED * np.nan})))
    assert Channel.OIL_TEMPERATURE not in log.channels


def test_a_load_in_pounds_is_offered_as_a_signal_and_not_taken() -> None:
    said = refusal({("RPM", ""): SPEED, ("Load", "lb"): TORQUE / 3.0})
    assert 'load_signal = { column = "Load", unit = "lb" }' in said


def test_an_engine_load_in_per_cent_is_no_load_cell() -> None:
    with pytest.raises(FileRefusedError, match="no torque, power or load signal"):
        understand(SOURCE, make_table({("RPM", ""): SPEED, ("Calculated load", "%"): SPEED * 0 + 99.0}))


def test_the_speed_of_the_brake_is_offered_as_engine_speed_and_not_taken() -> None:
    said = refusal({("Dyno speed", "rpm"): SPEED, ("Torque", "N m"): TORQUE})
    assert "there is no engine speed; 'Dyno speed' could stand for it" in said
    assert 'speed = { column = "Dyno speed", unit = "rpm" }' in said


def test_corrected_and_uncorrected_columns_that_happen_to_be_equal_are_still_refused() -> None:
    said = refusal({("RPM", ""): SPEED, ("Torque Corr", "N m"): TORQUE, ("Torque Uncorr", "N m"): TORQUE})
    assert "torque could be 'Torque Corr', 'Torque Uncorr'" in said


def test_two_exhaust_temperatures_that_are_no_siblings_are_not_averaged() -> None:
    log = understand(SOURCE, make_table(columns(**{"EGT__C": SPEED * 0 + 700.0, "Exhaust temp__C": SPEED * 0 + 800.0})))
    assert Channel.EXHAUST_TEMPERATURE not in log.channels
    assert any("could be 'EGT', 'Exhaust temp' and was left out" in doubt for doubt in log.doubts)


def test_missing_units_that_no_pair_explains_are_refused() -> None:
    # 8000 is no constant of any pair in use (5252, 7023, 7043, 7121, 9549).
    said = refusal({("RPM", ""): SPEED, ("Torque", ""): TORQUE, ("Power", ""): TORQUE * SPEED / 8000.0})
    assert "the unit of column" in said
    assert "is missing" in said


def test_missing_units_between_two_pairs_are_refused_rather_than_guessed() -> None:
    # PS with N m is 7023.5 and kW with lb ft is 7043.2 (standards note 2.2): 7037 is nearer to the second by a hair.
    said = refusal({("RPM", ""): SPEED, ("Torque", ""): TORQUE, ("Power", ""): TORQUE * SPEED / 7037.0})
    assert "is missing" in said
