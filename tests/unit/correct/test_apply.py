"""One pull to reference air: what wins, what is kept, what is said."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from builders import make_pull, torque_of
from builders_air import J1349_WARM, constant, corrected, steps_of

from pullbook.errors import InputError, OutOfRangeError
from pullbook.quantities.channels import Channel
from pullbook.records.build import Engine, Ignition
from pullbook.records.declaration import Air, Standard
from pullbook.records.pull import Direction, Pull, TorqueKind


def test_torque_is_multiplied_by_the_factor_of_the_air() -> None:
    pull = make_pull()
    result = corrected(pull)
    np.testing.assert_allclose(result.torque, pull.channels[Channel.TORQUE] * J1349_WARM, rtol=2e-5)
    np.testing.assert_allclose(result.factor, J1349_WARM, rtol=2e-5)
    assert result.standard is Standard.SAE_J1349
    assert np.all(result.inertia_torque == 0.0)


def test_no_standard_leaves_torque_to_the_last_bit_and_asks_for_no_air() -> None:
    pull = make_pull()
    result = corrected(pull, Air(), Standard.NONE)
    assert result.torque.tolist() == pull.channels[Channel.TORQUE].tolist()
    assert set(result.factor.tolist()) == {1.0}


def test_every_intermediate_value_is_a_step_with_unit_and_source() -> None:
    # Worked example C: vapour 2.5480 kPa, dry 95.4520 kPa, CA 1.045831, density 1.11509 kg/m3.
    result = corrected(make_pull())
    steps = steps_of(result)
    assert steps["vapour pressure"] == pytest.approx(2548.0, abs=0.1)
    assert steps["dry-air pressure"] == pytest.approx(95_452.0, abs=0.1)
    assert steps["CA"] == pytest.approx(1.045831, abs=2e-6)
    assert steps["air density"] == pytest.approx(1.11509, abs=1e-5)
    assert steps["correction factor"] == pytest.approx(J1349_WARM, abs=1e-5)
    assert {"air temperature", "air pressure", "relative humidity", "saturation pressure"} <= set(steps)
    assert all(step.unit and step.source for step in result.steps)
    assert [step.name for step in result.steps].index("vapour pressure") < list(steps).index("CA")


def test_channels_of_the_file_win_over_declared_air_and_the_step_says_so() -> None:
    pull = make_pull()
    channels = {Channel.AIR_TEMPERATURE: constant(pull, 303.15), Channel.AIR_PRESSURE: constant(pull, 98_000.0),
                Channel.AIR_HUMIDITY: constant(pull, 0.60)}  # fmt: skip
    result = corrected(make_pull(channels=channels), Air(temperature=283.15, pressure=102_000.0, humidity=0.4))
    np.testing.assert_allclose(result.factor, J1349_WARM, rtol=2e-5)
    sources = {step.name: step.source for step in result.steps}
    assert "median of the file's channel" in sources["air temperature"]
    assert "as given" in {step.name: step.source for step in corrected(pull).steps}["air temperature"]


def test_flicker_and_glitches_of_a_steady_sensor_do_not_reach_torque() -> None:
    pull = make_pull()
    generator = np.random.default_rng(5)
    kelvin = 303.15 + 0.4 * generator.choice([-1.0, 0.0, 1.0], pull.rows.size)
    kelvin[[40, 200]] = 340.0
    kelvin[100:110] = np.nan
    result = corrected(make_pull(channels={Channel.AIR_TEMPERATURE: kelvin}))
    assert np.ptp(result.factor) == 0.0
    np.testing.assert_allclose(result.factor, J1349_WARM, rtol=2e-5)


def test_air_that_warms_during_the_pull_is_followed_sample_by_sample_and_flagged() -> None:
    size = make_pull().rows.size
    kelvin = np.linspace(298.15, 303.15, size)
    result = corrected(make_pull(channels={Channel.AIR_TEMPERATURE: kelvin}))
    # Worked: SAE J1349 at 25 and at 30 degC with 95.452 kPa dry: 1.18 x 99/95.452 x sqrt(1 and 1.01677) - 0.18. The
    # vapour pressure falls with temperature here, because the humidity is relative: 1.9019 kPa at 25 degC.
    assert result.factor[-1] == pytest.approx(J1349_WARM, abs=2e-4)
    assert result.factor[0] == pytest.approx(1.18 * 99_000 / (98_000 - 1901.9) - 0.18, abs=2e-4)
    assert any("moves by" in flag and "its own" in flag for flag in result.flags)


def test_vapour_pressure_of_the_file_wins_over_declared_humidity() -> None:
    pull = make_pull()
    result = corrected(make_pull(channels={Channel.VAPOUR_PRESSURE: constant(pull, 2548.0)}),
                       Air(temperature=303.15, pressure=98_000.0, humidity=0.1))  # fmt: skip
    np.testing.assert_allclose(result.factor, J1349_WARM, rtol=2e-5)


def test_channel_without_any_number_counts_as_absent() -> None:
    result = corrected(make_pull(channels={Channel.AIR_TEMPERATURE: constant(make_pull(), np.nan)}))
    np.testing.assert_allclose(result.factor, J1349_WARM, rtol=2e-5)


def test_only_samples_with_speed_and_torque_are_kept_and_rows_stay_in_step() -> None:
    pull = make_pull()
    torque = np.array(pull.channels[Channel.TORQUE])
    speed = np.array(pull.channels[Channel.SPEED])
    torque[10], speed[20] = np.nan, np.inf
    result = corrected(make_pull(channels={Channel.TORQUE: torque, Channel.SPEED: speed}))
    assert result.rows.size == result.torque.size == result.speed_rpm.size == result.factor.size == pull.rows.size - 2
    assert {12, 22}.isdisjoint(result.rows.tolist())
    np.testing.assert_allclose(result.torque, torque_of("A", result.speed_rpm) * J1349_WARM, rtol=2e-5)


def test_pull_without_a_complete_row_is_refused() -> None:
    pull = make_pull()
    with pytest.raises(InputError, match="no row has both speed and torque"):
        corrected(make_pull(channels={Channel.TORQUE: constant(pull, np.nan)}))


@pytest.mark.parametrize("missing", ["temperature", "pressure", "humidity"])
def test_missing_weather_is_refused_with_the_line_to_write(missing: str) -> None:
    known: dict[str, Any] = {"temperature": 303.15, "pressure": 98_000.0, "humidity": 0.6}
    del known[missing]
    with pytest.raises(InputError) as refused:
        corrected(make_pull(), Air(**known))
    assert f"air = {{ {missing} = " in str(refused.value)
    assert str(refused.value).startswith("pulls/a1.csv: ")


@pytest.mark.parametrize(
    ("air", "says"),
    [
        (Air(temperature=303.15, pressure=992.0, humidity=0.6), "hPa was probably meant where Pa was written"),
        (Air(temperature=303.15, pressure=992_000.0, humidity=0.6), "hPa was probably meant where kPa was written"),
        (Air(temperature=303.15, pressure=29_300.0, humidity=0.6), "inHg was probably meant where kPa was written"),
        (Air(temperature=303.15, pressure=98_000.0, humidity=46.0), "write '46 %'"),
        (Air(temperature=24.1, pressure=98_000.0, humidity=0.46), "write '24.1 degC'"),
        (Air(temperature=273.15 + 75, pressure=98_000.0, humidity=0.46), "write '75 degF'"),
        (Air(temperature=303.15, pressure=98_000.0, humidity=-0.1), "0 % to 100 %"),
        (Air(temperature=303.15, pressure=float("nan"), humidity=0.1), "absolute pressure at the engine inlet"),
        (Air(temperature=2000.0, pressure=98_000.0, humidity=0.1), "look at the unit"),
    ],
)
def test_air_outside_physics_is_refused_with_the_unit_that_was_probably_meant(air: Air, says: str) -> None:
    for standard in (Standard.SAE_J1349, Standard.NONE):
        with pytest.raises(OutOfRangeError) as refused:
            corrected(make_pull(), air, standard)
        assert says in str(refused.value)
        assert str(refused.value).startswith("pulls/a1.csv: ")
        assert refused.value.exit_status == 2


def test_dead_pressure_sensor_in_the_file_is_refused_where_it_is_needed_and_harmless_where_it_is_not() -> None:
    dead = make_pull(channels={Channel.AIR_PRESSURE: constant(make_pull(), 0.0)})
    with pytest.raises(OutOfRangeError, match="air pressure in the file"):
        corrected(dead)
    assert corrected(dead, Air(), Standard.NONE).torque.size


def test_more_vapour_than_the_air_can_hold_is_refused() -> None:
    wet = make_pull(channels={Channel.VAPOUR_PRESSURE: constant(make_pull(), 6000.0)})
    with pytest.raises(OutOfRangeError, match=r"above saturation \(4\.247 kPa"):
        corrected(wet)


def test_relative_signal_gets_the_factor_and_says_so_but_no_inertia() -> None:
    pull = make_pull()
    volts = pull.channels[Channel.TORQUE] / 60
    channels: dict[Channel, Any] = {key: value for key, value in pull.channels.items() if key is not Channel.TORQUE}
    signal = Pull(
        name="a1.csv", source=pull.source, direction=Direction.UP, rows=pull.rows, torque_kind=TorqueKind.RELATIVE,
        channels={**channels, Channel.LOAD_SIGNAL: volts},
    )  # fmt: skip
    result = corrected(signal, inertia=0.2, engine=Engine(friction=((3000.0, 4000.0), (6000.0, 12_000.0))))
    np.testing.assert_allclose(result.torque, volts * J1349_WARM, rtol=2e-5)
    assert np.all(result.inertia_torque == 0.0)
    assert any("cannot be added to a signal" in flag for flag in result.flags)
    assert any("its zero is at zero torque" in flag for flag in result.flags)
    assert result.torque_kind is TorqueKind.RELATIVE


def test_power_of_the_file_is_not_used_at_all() -> None:
    silly = make_pull(channels={Channel.POWER: constant(make_pull(), 1.0)})
    np.testing.assert_array_equal(corrected(silly).torque, corrected(make_pull()).torque)


def test_engine_that_a_standard_is_not_for_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="ISO 1585 diesel"):
        corrected(make_pull(), engine=Engine(ignition=Ignition.COMPRESSION))


def test_measured_friction_makes_a_factor_that_varies_over_speed() -> None:
    # By hand at 3000 rpm: CA 1.045831, friction 12 N m: (T + 12) x 1.045831 - 12.
    omega = 3000 * np.pi / 30
    engine = Engine(friction=((3000.0, 12 * omega), (6000.0, 2 * omega * 20)))
    result = corrected(make_pull(), engine=engine)
    at = int(np.argmin(np.abs(result.speed_rpm - 3000.0)))
    torque = float(make_pull().channels[Channel.TORQUE][at])
    assert result.speed_rpm[at] == 3000.0
    assert result.torque[at] == pytest.approx((torque + 12.0) * 1.045831 - 12.0, abs=1e-3)
    np.testing.assert_allclose(result.factor * make_pull().channels[Channel.TORQUE], result.torque, rtol=1e-12)
