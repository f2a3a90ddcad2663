"""What correcting a pull promises for any air, any standard and any order of the samples."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from builders import make_pull
from hypothesis import given
from hypothesis import strategies as st

from pullbook.correct.apply import correct_pull
from pullbook.correct.standards import STANDARDS, rule_of
from pullbook.quantities.channels import Channel
from pullbook.records.build import Engine, Ignition
from pullbook.records.declaration import Air, Standard

FUEL = {Channel.FUEL_FLOW: np.full(make_pull().rows.shape, 5e-3)}
DIESEL = Engine(ignition=Ignition.COMPRESSION, displacement=0.002)

airs = st.builds(
    Air, temperature=st.floats(263.15, 318.15), pressure=st.floats(70_000.0, 105_000.0), humidity=st.floats(0.0, 1.0)
)
standards = st.sampled_from([rule.standard for rule in STANDARDS])
spark = st.sampled_from([s for s in Standard if s not in {Standard.NONE, Standard.ISO_1585_DIESEL}])


def engine_for(*wanted: Standard) -> Engine:
    return DIESEL if Standard.ISO_1585_DIESEL in wanted else Engine()


@given(airs, standards)
def test_what_was_corrected_is_uncorrected_to_the_observed_torque(air: Air, standard: Standard) -> None:
    observed = make_pull(channels=dict(FUEL))
    known: dict[str, Any] = {"air": air, "engine": engine_for(standard)}
    once = correct_pull(observed, standard=standard, **known)
    file = make_pull(channels={**FUEL, Channel.TORQUE: once.torque})
    back = correct_pull(file, standard=Standard.NONE, received=standard, **known)
    np.testing.assert_allclose(back.torque, observed.channels[Channel.TORQUE], rtol=1e-12)


@given(airs, spark, spark)
def test_way_over_another_standard_makes_no_difference(air: Air, over: Standard, to: Standard) -> None:
    known: dict[str, Any] = {"air": air, "engine": Engine()}
    direct = correct_pull(make_pull(), standard=to, **known)
    file = make_pull(channels={Channel.TORQUE: correct_pull(make_pull(), standard=over, **known).torque})
    np.testing.assert_allclose(
        correct_pull(file, standard=to, received=over, **known).torque, direct.torque, rtol=1e-12
    )


@given(airs, spark, st.floats(0.0, 5.0))
def test_torque_is_that_of_the_file_plus_inertia_torque_times_factor(
    air: Air, standard: Standard, inertia: float
) -> None:
    engine = Engine(friction=((2000.0, 3000.0), (6500.0, 14_000.0)))
    result = correct_pull(make_pull(), air=air, engine=engine, standard=standard, inertia=inertia)
    again = (make_pull().channels[Channel.TORQUE] + result.inertia_torque) * result.factor
    np.testing.assert_allclose(result.torque, again, rtol=1e-12)


@pytest.mark.parametrize("standard", [rule.standard for rule in STANDARDS if rule.standard is not Standard.NONE])
@given(
    st.floats(263.15, 318.15), st.floats(0.0, 1.0),
    st.lists(st.integers(700, 1050), min_size=2, max_size=6, unique=True),
)  # fmt: skip
def test_factor_strictly_rises_as_pressure_falls(
    standard: Standard, kelvin: float, humidity: float, hectopascals: list[int]
) -> None:
    pull = make_pull(channels=dict(FUEL))
    factors = [
        correct_pull(
            pull, air=Air(temperature=kelvin, pressure=100.0 * value, humidity=humidity), engine=engine_for(standard),
            standard=standard,
        ).factor[0]
        for value in sorted(hectopascals)
    ]  # fmt: skip
    assert np.all(np.diff(factors) < 0.0)


@given(airs, spark, st.integers(0, 2**32 - 1))
def test_order_of_the_samples_changes_nothing_but_the_order(air: Air, standard: Standard, seed: int) -> None:
    pull = make_pull()
    order = np.random.default_rng(seed).permutation(pull.rows.size)
    shuffled = make_pull(
        channels={channel: values[order] for channel, values in pull.channels.items()}, rows=pull.rows[order]
    )
    known: dict[str, Any] = {"air": air, "engine": Engine(), "standard": standard, "inertia": 0.3}
    one, other = correct_pull(pull, **known), correct_pull(shuffled, **known)
    np.testing.assert_array_equal(other.torque, one.torque[order])
    np.testing.assert_array_equal(other.rows, one.rows[order])
    np.testing.assert_array_equal(other.factor, one.factor[order])


@given(airs, standards, st.floats(0.1, 10.0))
def test_torque_twice_as_large_is_corrected_to_twice_as_much(air: Air, standard: Standard, times: float) -> None:
    # Without measured friction the correction is a factor, whatever the standard.
    known: dict[str, Any] = {"air": air, "engine": engine_for(standard), "standard": standard}
    one = correct_pull(make_pull(channels=dict(FUEL)), **known)
    scaled = make_pull(channels={**FUEL, Channel.TORQUE: times * make_pull().channels[Channel.TORQUE]})
    np.testing.assert_allclose(correct_pull(scaled, **known).torque, times * one.torque, rtol=1e-12)


def test_reference_air_of_each_standard_leaves_torque_as_it_is() -> None:
    # Reference conditions: 25 degC and 99 kPa dry; 60 degF and 101.325 kPa dry; 20 degC and 101.325 kPa; 25 degC,
    # 100 kPa and 30 % (ISO 3046-1, from memory).
    references = {
        Standard.SAE_J1349: Air(temperature=298.15, pressure=99_000.0, humidity=0.0),
        Standard.ISO_1585: Air(temperature=298.15, pressure=99_000.0, humidity=0.0),
        Standard.JIS_D1001: Air(temperature=298.15, pressure=99_000.0, humidity=0.0),
        Standard.ISO_1585_DIESEL: Air(temperature=298.15, pressure=99_000.0, humidity=0.0),
        Standard.SAE_J607: Air(temperature=(60 + 459.67) / 1.8, pressure=101_325.0, humidity=0.0),
        Standard.DIN_70020: Air(temperature=293.15, pressure=101_325.0),
        Standard.ISO_3046: Air(temperature=298.15, pressure=100_000.0, humidity=0.30),
    }
    for standard, air in references.items():
        result = correct_pull(make_pull(channels=dict(FUEL)), air=air, engine=engine_for(standard), standard=standard)
        np.testing.assert_allclose(result.factor, 1.0, rtol=1e-12, err_msg=rule_of(standard).title)
