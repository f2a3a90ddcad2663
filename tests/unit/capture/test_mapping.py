"""Which column is which channel: what is taken, what is derived, what is refused and with which line."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from builders_tables import SOURCE, TORQUE, curve_speed, make_table, rule

from pullbook.capture.mapping import survey, understand
from pullbook.quantities.channels import Channel
from pullbook.records.pull import TorqueKind

SPEED = curve_speed()
LB_FT = 1.3558179483314  # N m, NIST SP 811 appendix B
POWER_W = TORQUE * SPEED * math.pi / 30.0
# Standards note 2.2: power in the unit named, of torque in the unit named.
HP_OF_LB_FT, KW_OF_N_M, PS_OF_N_M = 5252.113122, 9549.29658551, 7023.49570


def columns(**more: Any) -> dict[tuple[str, str], Any]:
    """Table of speed and torque, with more columns written ``name__unit``."""
    table: dict[tuple[str, str], Any] = {("RPM", ""): SPEED, ("Torque", "N m"): TORQUE}
    table.update({(name.split("__")[0], (*name.split("__"), "")[1]): values for name, values in more.items()})
    return table


def test_each_choice_has_column_unit_and_reason() -> None:
    log = understand(SOURCE, make_table({("Engine Speed", "1/min"): SPEED, ("Drehmoment", "lb-ft"): TORQUE / LB_FT}))
    said = {choice.channel: (choice.column, choice.unit) for choice in log.choices}
    assert said == {Channel.SPEED: ("Engine Speed", "rpm"), Channel.TORQUE: ("Drehmoment", "lb ft")}
    assert all(choice.reason for choice in log.choices)
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE, rtol=1e-12)


def test_speed_in_radians_thousands_and_hertz_is_rpm() -> None:
    for name, unit, values in (
        ("speed_rad_s", "", SPEED * math.pi / 30.0),
        ("RPM x1000", "", SPEED / 1000.0),
        ("Engine speed", "x1000", SPEED / 1000.0),
        ("Engine speed", "Hz", SPEED / 60.0),
    ):
        log = understand(SOURCE, make_table({(name, unit): values, ("torque_Nm", ""): TORQUE}))
        assert np.allclose(log.channels[Channel.SPEED], SPEED, rtol=1e-12), name


def test_mixture_as_air_fuel_ratio_is_lambda_on_the_petrol_scale() -> None:
    # Standards note 2.4: 12.5 on a 14.7 scale is lambda 0.85034.
    log = understand(SOURCE, make_table(columns(AFR=SPEED * 0 + 12.5)))
    assert log.channels[Channel.MIXTURE] == pytest.approx(0.85034, abs=5e-6)


def test_lambda_column_with_air_fuel_numbers_is_read_as_such_and_doubted() -> None:
    log = understand(SOURCE, make_table(columns(Lambda=SPEED * 0 + 12.5)))
    assert log.channels[Channel.MIXTURE] == pytest.approx(0.85034, abs=5e-6)
    assert any("'Lambda' says lambda, but its numbers are those of AFR" in doubt for doubt in log.doubts)


def test_throttle_as_a_fraction_under_a_percent_sign_is_seen_by_its_range() -> None:
    log = understand(SOURCE, make_table(columns(**{"TPS__%": np.linspace(0.2, 1.0, SPEED.size)})))
    assert log.channels[Channel.THROTTLE].max() == pytest.approx(1.0)
    assert any("a fraction" in doubt for doubt in log.doubts)


def test_spark_after_top_dead_centre_is_turned_round() -> None:
    log = understand(SOURCE, make_table(columns(**{"Ignition timing__°ATDC": SPEED * 0 - 13.0})))
    assert log.channels[Channel.SPARK] == pytest.approx(13.0)


def test_spark_before_top_dead_centre_is_kept() -> None:
    log = understand(SOURCE, make_table(columns(**{"Ignition Angle__DBTDC": SPEED * 0 + 34.2})))
    assert log.channels[Channel.SPARK] == pytest.approx(34.2)


def test_weather_temperatures_and_flows_are_read_in_their_units() -> None:
    log = understand(
        SOURCE,
        make_table(
            columns(**{
                "Baro__inHg": SPEED * 0 + 29.92, "Air Temp__F": SPEED * 0 + 77.0, "Oil Temp__C": SPEED * 0 + 90.0,
                "Coolant Temp__degF": SPEED * 0 + 185.0, "Fuel flow__lb/hr": SPEED * 0 + 60.0,
                "RH__%": SPEED * 0 + 46.0,
            })
        ),
    )  # fmt: skip
    # Standards note 2.1: inHg 3386.389 Pa; degF to degC (F - 32) / 1.8; lb 0.45359237 kg.
    assert log.channels[Channel.AIR_PRESSURE] == pytest.approx(29.92 * 3386.389)
    assert log.channels[Channel.AIR_TEMPERATURE] == pytest.approx(298.15)
    assert log.channels[Channel.OIL_TEMPERATURE] == pytest.approx(363.15)
    assert log.channels[Channel.COOLANT_TEMPERATURE] == pytest.approx(358.15)
    assert log.channels[Channel.FUEL_FLOW] == pytest.approx(60.0 * 0.45359237 / 3600.0)
    assert log.channels[Channel.AIR_HUMIDITY] == pytest.approx(0.46)


def test_one_rule_for_torque_settles_the_power_that_belongs_to_it() -> None:
    table = {
        ("RPM", ""): SPEED, ("TQ Corr", "N m"): TORQUE * 1.03, ("TQ Obs", "N m"): TORQUE,
        ("Power Corr", "W"): POWER_W * 1.03, ("Power Obs", "W"): POWER_W,
    }  # fmt: skip
    log = understand(SOURCE, make_table(table), (rule(Channel.TORQUE, "TQ Obs"),))
    assert np.allclose(log.channels[Channel.POWER], POWER_W)
    assert "TQ Corr" in log.ignored


def test_a_single_corrected_column_is_taken_and_asks_for_received() -> None:
    log = understand(SOURCE, make_table({("RPM", ""): SPEED, ("SAE Torque", "N m"): TORQUE}))
    assert any("say by which standard with 'received'" in doubt for doubt in log.doubts)


@pytest.mark.parametrize(
    ("torque", "power", "factor_torque", "factor_power"),
    # The constants of the standards note, section 2.2.
    [
        ("lb ft", "hp", 1.0 / LB_FT, HP_OF_LB_FT), ("N m", "kW", 1.0, KW_OF_N_M), ("N m", "PS", 1.0, PS_OF_N_M),
    ],
)  # fmt: skip
def test_missing_units_of_torque_and_power_are_found_by_the_identity(
    torque: str, power: str, factor_torque: float, factor_power: float
) -> None:
    numbers = TORQUE * factor_torque
    log = understand(
        SOURCE, make_table({("RPM", ""): SPEED, ("Torque", ""): numbers, ("Power", ""): numbers * SPEED / factor_power})
    )
    units = {choice.channel: choice.unit for choice in log.choices}
    assert (units[Channel.TORQUE], units[Channel.POWER]) == (torque, power)
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE, rtol=1e-6)
    assert sum("has no unit" in doubt for doubt in log.doubts) == 2


def test_missing_unit_of_power_alone_tells_hp_from_ps() -> None:
    for unit, constant in (("hp", 7120.90924), ("PS", 7023.49570), ("kW", 9549.29658551)):  # standards note 2.2
        log = understand(
            SOURCE, make_table({("RPM", ""): SPEED, ("Torque", "Nm"): TORQUE, ("Power", ""): TORQUE * SPEED / constant})
        )
        assert {choice.channel: choice.unit for choice in log.choices}[Channel.POWER] == unit


@pytest.mark.parametrize(
    ("name", "value", "channel", "expected", "unit"),
    [
        ("Baro", 29.4, Channel.AIR_PRESSURE, 29.4 * 3386.389, "inHg"),
        ("Baro", 99.2, Channel.AIR_PRESSURE, 99_200.0, "kPa"),
        ("Baro", 992.0, Channel.AIR_PRESSURE, 99_200.0, "hPa"),
        ("Baro", 744.0, Channel.AIR_PRESSURE, 744.0 * 133.322387, "mmHg"),
        ("Air Temp", 24.0, Channel.AIR_TEMPERATURE, 297.15, "degC"),
        ("Air Temp", 77.0, Channel.AIR_TEMPERATURE, 298.15, "degF"),
        ("Oil Temp", 95.0, Channel.OIL_TEMPERATURE, 368.15, "degC"),
        ("Oil Temp", 203.0, Channel.OIL_TEMPERATURE, 368.15, "degF"),
        ("TPS", 99.0, Channel.THROTTLE, 0.99, "%"), ("TPS", 0.99, Channel.THROTTLE, 0.99, "a fraction"),
        ("Air Fuel Ratio", 12.5, Channel.MIXTURE, 12.5 / 14.7, "AFR"),
    ],
)  # fmt: skip
def test_a_missing_unit_beside_the_curve_is_assumed_and_the_doubt_says_so(
    name: str, value: float, channel: Channel, expected: float, unit: str
) -> None:
    log = understand(SOURCE, make_table(columns(**{name: SPEED * 0 + value})))
    assert log.channels[channel] == pytest.approx(expected)
    assert any(f"assumed to be in {unit}" in doubt and f'column = "{name}"' in doubt for doubt in log.doubts)


def test_exhaust_temperatures_of_several_cylinders_are_averaged_and_said() -> None:
    log = understand(SOURCE, make_table(columns(**{f"EGT {n}__C": SPEED * 0 + 700.0 + 10 * n for n in (1, 2, 3)})))
    assert log.channels[Channel.EXHAUST_TEMPERATURE] == pytest.approx(720.0 + 273.15)
    assert any("mean of 3 columns" in doubt for doubt in log.doubts)


def test_power_without_torque_gives_torque_and_says_so() -> None:
    log = understand(SOURCE, make_table({("RPM", ""): SPEED, ("Power", "W"): POWER_W}))
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE, rtol=1e-12)
    assert log.torque_kind is TorqueKind.MEASURED
    assert any(c.channel is Channel.TORQUE and "the file has power and no torque" in c.reason for c in log.choices)


def test_tractive_force_and_road_speed_give_power_at_the_wheels() -> None:
    road = SPEED / 100.0  # km/h per rpm of one gear
    force = POWER_W / (road / 3.6)
    log = understand(
        SOURCE,
        make_table({("Engine Speed", "rpm"): SPEED, ("Dyno Speed", "km/h"): road, ("Tractive Effort", "N"): force}),
    )
    assert np.allclose(log.channels[Channel.POWER], POWER_W, rtol=1e-12)
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE, rtol=1e-12)
    assert any("at the wheels" in doubt for doubt in log.doubts)


def test_a_rule_makes_an_analogue_channel_the_load_signal() -> None:
    log = understand(
        SOURCE,
        make_table({("RPM", ""): SPEED, ("Analog #8", "volts"): TORQUE / 70.0}),
        (rule(Channel.LOAD_SIGNAL, "Analog #8", "V"),),
    )
    assert log.torque_kind is TorqueKind.RELATIVE
    assert Channel.TORQUE not in log.channels
    assert Channel.POWER not in log.channels
    assert np.allclose(log.channels[Channel.LOAD_SIGNAL], TORQUE / 70.0)


@pytest.mark.parametrize("name", ["Load cell", "Torque", "Load", "Kraftmessdose"])
def test_a_column_that_says_load_in_volts_is_the_load_signal(name: str) -> None:
    log = understand(SOURCE, make_table({("RPM", ""): SPEED, (name, "V"): TORQUE / 70.0}))
    assert log.torque_kind is TorqueKind.RELATIVE
    assert any("in per cent only" in doubt for doubt in log.doubts)


def test_the_load_signal_is_left_aside_where_there_is_torque() -> None:
    log = understand(SOURCE, make_table(columns(**{"Load cell__V": TORQUE / 70.0})))
    assert log.torque_kind is TorqueKind.MEASURED
    assert "Load cell" in log.ignored


def test_a_survey_shows_a_file_without_torque() -> None:
    log = survey(SOURCE, make_table({("RPM", ""): SPEED, ("TPS", "%"): SPEED * 0 + 42.0}))
    assert set(log.channels) == {Channel.SPEED, Channel.THROTTLE}


def test_rows_notes_and_doubts_of_the_table_are_kept() -> None:
    table = make_table(columns(), preamble=("Dyno cell 2",), doubts=("row 7 was cut off",), sheet="Run 1")
    log = understand(SOURCE, table)
    assert (log.notes, log.sheet, log.rows[0]) == (("Dyno cell 2",), "Run 1", 2)
    assert "row 7 was cut off" in log.doubts


def test_a_number_that_stands_for_nothing_is_blank_and_said() -> None:
    # Loggers write 1E30 for a sensor that is not connected.
    blanked = np.where(np.arange(SPEED.size) == 7, 1e30, 0.88)
    log = understand(SOURCE, make_table(columns(Lambda=blanked)))
    assert np.isnan(log.channels[Channel.MIXTURE][7])
    assert np.nanmax(log.channels[Channel.MIXTURE]) == pytest.approx(0.88)
    assert "1 value(s) of column 'Lambda' such as 1e+30 were left blank" in log.doubts
