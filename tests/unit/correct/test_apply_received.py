"""A file that somebody already corrected, and the inertia torque of a sweep."""

from __future__ import annotations

import numpy as np
import pytest
from builders import make_pull
from builders_air import DIN_WARM, J1349_WARM, WARM, constant, corrected, steps_of

from pullbook.errors import InputError, OutOfRangeError, RefusalError
from pullbook.quantities.channels import Channel
from pullbook.records.build import Engine, Ignition
from pullbook.records.declaration import Air, Standard
from pullbook.records.pull import Direction, Pull, TorqueKind


def received_from(factor: float) -> Pull:
    return make_pull(channels={Channel.TORQUE: make_pull().channels[Channel.TORQUE] * factor})


def test_file_received_at_another_standard_is_taken_back_and_corrected_once() -> None:
    file = received_from(DIN_WARM)
    result = corrected(file, received=Standard.DIN_70020)
    np.testing.assert_allclose(result.torque, make_pull().channels[Channel.TORQUE] * J1349_WARM, rtol=3e-5)
    assert steps_of(result)["factor taken out"] == pytest.approx(DIN_WARM, abs=1e-5)
    np.testing.assert_allclose(result.factor, J1349_WARM / DIN_WARM, rtol=3e-5)


def test_file_received_at_the_same_standard_is_left_to_the_last_bit_and_needs_no_air() -> None:
    file = received_from(J1349_WARM)
    result = corrected(file, Air(), received=Standard.SAE_J1349)
    assert result.torque.tolist() == file.channels[Channel.TORQUE].tolist()
    assert any("left as it is" in flag for flag in result.flags)


def test_file_received_corrected_becomes_observed_under_no_standard() -> None:
    file = received_from(J1349_WARM)
    result = corrected(file, WARM, Standard.NONE, received=Standard.SAE_J1349)
    np.testing.assert_allclose(result.torque, make_pull().channels[Channel.TORQUE], rtol=2e-5)


def test_file_whose_correction_cannot_be_undone_is_refused() -> None:
    with pytest.raises(RefusalError) as refused:
        corrected(make_pull(), Air(), Standard.NONE, received=Standard.SAE_J607)
    assert "SAE J607" in str(refused.value)
    assert "cannot be taken out" in str(refused.value)
    assert "the temperature of the inlet air is not known" in str(refused.value)


def test_factor_recorded_in_the_file_is_taken_out_without_any_weather() -> None:
    observed = make_pull().channels[Channel.TORQUE]
    recorded = make_pull(
        channels={Channel.TORQUE: observed * 1.031, Channel.CORRECTION_FACTOR: constant(make_pull(), 1.031)}
    )
    result = corrected(recorded, Air(), Standard.NONE, received=Standard.SAE_J607)
    np.testing.assert_allclose(result.torque, make_pull().channels[Channel.TORQUE], rtol=1e-12)


def test_recorded_factor_that_does_not_fit_the_air_is_used_and_flagged() -> None:
    recorded = make_pull(channels={Channel.CORRECTION_FACTOR: constant(make_pull(), 1.031)})
    result = corrected(recorded, received=Standard.DIN_70020)
    assert steps_of(result)["factor taken out"] == pytest.approx(1.031)
    # 1.031 / 1.05142 - 1 = -1.9 %.
    assert any("differs by -1.9 %" in flag for flag in result.flags)


def test_factor_column_beside_torque_declared_as_observed_is_pointed_at_and_not_used() -> None:
    recorded = make_pull(channels={Channel.CORRECTION_FACTOR: constant(make_pull(), 1.031)})
    result = corrected(recorded)
    np.testing.assert_array_equal(result.torque, corrected(make_pull()).torque)
    assert any("declared as observed" in flag for flag in result.flags)


def test_measured_friction_is_not_assumed_of_a_bench_that_corrected_the_file() -> None:
    file = received_from(J1349_WARM)
    engine = Engine(friction=((2000.0, 3000.0), (6000.0, 12_000.0)))
    result = corrected(file, WARM, Standard.NONE, received=Standard.SAE_J1349, engine=engine)
    np.testing.assert_allclose(result.torque, make_pull().channels[Channel.TORQUE], rtol=2e-5)


def test_standard_that_a_bench_used_on_the_wrong_engine_can_still_be_taken_out() -> None:
    file = received_from(J1349_WARM)
    diesel = Engine(ignition=Ignition.COMPRESSION)
    result = corrected(file, WARM, Standard.NONE, received=Standard.SAE_J1349, engine=diesel)
    np.testing.assert_allclose(result.torque, make_pull().channels[Channel.TORQUE], rtol=2e-5)
    assert any("used it all the same" in flag for flag in result.flags)


def test_relative_signal_that_claims_to_be_corrected_is_refused() -> None:
    pull = make_pull(torque_kind=TorqueKind.RELATIVE, channels={Channel.LOAD_SIGNAL: constant(make_pull(), 2.0)})
    with pytest.raises(RefusalError, match="without calibration"):
        corrected(pull, received=Standard.DIN_70020)


# Inertia of the sweep.


def test_inertia_torque_of_the_sweep_is_added_before_the_factor() -> None:
    # Check value: 0.30 kg m^2 at 300 rpm/s takes 9.4248 N m, 5.922 kW at 6000 rpm (J times angular acceleration).
    pull = make_pull(sweep_rate=300.0)
    result = corrected(pull, inertia=0.30)
    np.testing.assert_allclose(result.inertia_torque, 9.4248, rtol=1e-5)
    np.testing.assert_allclose(result.torque, (pull.channels[Channel.TORQUE] + 9.4248) * J1349_WARM, rtol=3e-5)
    at = int(np.argmin(np.abs(result.speed_rpm - 6000.0)))
    assert result.inertia_torque[at] * 6000 * np.pi / 30 == pytest.approx(5922.0, abs=1.0)
    steps = steps_of(result)
    assert steps["inertia"] == 0.30
    assert steps["derivative bandwidth"] == 0.5
    assert steps["derivative bandwidth in speed"] == pytest.approx(150.0)
    assert steps["sweep rate"] == pytest.approx(300.0)


def test_steady_points_have_no_inertia_torque() -> None:
    assert np.all(corrected(make_pull(direction=Direction.STEPS), inertia=0.30).inertia_torque == 0.0)


def test_inertia_torque_of_a_received_file_is_added_in_the_terms_of_that_file() -> None:
    file = received_from(DIN_WARM)
    twice = corrected(file, received=Standard.DIN_70020, inertia=0.30)
    once = corrected(make_pull(), inertia=0.30)
    np.testing.assert_allclose(twice.torque, once.torque, rtol=3e-5)
    np.testing.assert_allclose(
        (file.channels[Channel.TORQUE] + twice.inertia_torque) * twice.factor, twice.torque, rtol=1e-12
    )


def test_inertia_torque_of_a_file_at_the_session_standard_takes_its_factor_along() -> None:
    file = received_from(J1349_WARM)
    result = corrected(file, received=Standard.SAE_J1349, inertia=0.30)
    np.testing.assert_allclose(result.torque, corrected(make_pull(), inertia=0.30).torque, rtol=3e-5)
    blind = corrected(file, Air(), received=Standard.SAE_J1349, inertia=0.30)
    assert any("added without one" in flag for flag in blind.flags)


def test_file_without_time_cannot_have_its_inertia_torque_added() -> None:
    pull = make_pull()
    timeless = Pull(
        name=pull.name, source=pull.source, direction=Direction.UP, rows=pull.rows,
        channels={key: value for key, value in pull.channels.items() if key is not Channel.TIME},
    )  # fmt: skip
    with pytest.raises(InputError, match="export the time column"):
        corrected(timeless, inertia=0.30)
    assert corrected(timeless).torque.size


def test_sweep_rate_of_the_file_serves_where_there_is_no_time() -> None:
    pull = make_pull(
        channels={Channel.SWEEP_RATE: constant(make_pull(), 300.0), Channel.TIME: constant(make_pull(), np.nan)}
    )
    np.testing.assert_allclose(corrected(pull, inertia=0.30).inertia_torque, 9.4248, rtol=1e-5)


def test_sample_without_a_time_takes_the_inertia_torque_of_its_neighbours_and_that_is_said() -> None:
    time = np.array(make_pull().channels[Channel.TIME])
    time[50] = np.nan
    result = corrected(make_pull(channels={Channel.TIME: time}), inertia=0.30)
    assert result.inertia_torque[50] == pytest.approx(9.4248, rel=1e-5)
    assert any("neighbours" in flag for flag in result.flags)


@pytest.mark.parametrize("inertia", [-0.1, 501.0, float("nan")])
def test_inertia_that_is_none_is_refused(inertia: float) -> None:
    with pytest.raises(OutOfRangeError, match="inertia"):
        corrected(make_pull(), inertia=inertia)
