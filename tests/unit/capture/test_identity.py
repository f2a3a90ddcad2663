"""Power against torque times speed: agreement, and the unit that is probably wrong."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from builders_tables import SOURCE, TORQUE, curve_speed, make_table, rule
from hypothesis import given
from hypothesis import strategies as st

from pullbook.capture.identity import check_identity
from pullbook.capture.mapping import understand
from pullbook.curves.identity import UnitSet, constant_of, power_identity
from pullbook.errors import MappingError
from pullbook.quantities.channels import Channel

SPEED = curve_speed()
WATTS = TORQUE * SPEED * math.pi / 30.0
# Exact sizes, NIST SP 811 appendix B (standards note 2.1).
TORQUE_UNITS = {"N m": 1.0, "lb ft": 1.3558179483314, "kgf m": 9.80665}
# PS with N m (7023.5) is usual and kW with lb ft (7043.2) is not; they are 0.28 % apart.
TOO_CLOSE = ("N m", "lb ft", "PS", "kW")
POWER_UNITS = {"kW": 1000.0, "hp": 745.69987158227, "PS": 735.49875}


@pytest.mark.parametrize(
    ("torque", "power", "constant"),
    # Standards note 2.2.
    [
        ("lb ft", "hp", 5252.113122), ("N m", "kW", 9549.29658551), ("N m", "PS", 7023.49570),
        ("N m", "hp", 7120.90924),
        ("kgf m", "PS", 716.197244),
    ],
)  # fmt: skip
def test_constants_are_those_of_the_handbook(torque: str, power: str, constant: float) -> None:
    assert constant_of(torque, power) == pytest.approx(constant, rel=1e-9)


def test_columns_that_agree_are_said_to_agree() -> None:
    found = power_identity(SPEED, TORQUE, WATTS * 1.002)
    assert found is not None
    assert found.agrees
    assert found.ratio == pytest.approx(1.002, rel=1e-12)
    assert found.worst == pytest.approx(0.002, rel=1e-9)
    assert "within 0.20 %" in found.says


@pytest.mark.parametrize(
    ("said", "is_", "words"),
    [
        (("N m", "hp", "rpm"), ("lb ft", "hp", "rpm"), "torque is probably in lb ft, not N m (5252.1)"),
        (("N m", "kW", "rpm"), ("N m", "PS", "rpm"), "power is probably in PS, not kW (7023.5)"),
        (("lb ft", "kW", "rpm"), ("N m", "kW", "rpm"), "torque is probably in N m, not lb ft (9549.3)"),
        (("N m", "kW", "rad/s"), ("N m", "kW", "rpm"), "speed is probably in rpm, not rad/s"),
        (("N m", "kW", "rpm"), ("lb ft", "hp", "rpm"),
         "torque is probably in lb ft, not N m and power is probably in hp, not kW (5252.1)"),
    ],
)  # fmt: skip
def test_the_probably_wrong_unit_is_named_with_its_constant(
    said: tuple[str, str, str], is_: tuple[str, str, str], words: str
) -> None:
    stated, really = (UnitSet(torque=torque, power=power, speed=speed) for torque, power, speed in (said, is_))
    # Read with the stated unit what was written in the real one.
    torque = TORQUE * TORQUE_UNITS[stated.torque] / TORQUE_UNITS[really.torque]
    power = WATTS * POWER_UNITS[stated.power] / POWER_UNITS[really.power]
    speed = SPEED if stated.speed == really.speed else SPEED * 30.0 / math.pi
    found = power_identity(speed, torque, power, stated=stated)
    assert found is not None
    assert found.probable[0] == really
    assert words in found.says
    assert found.constant == pytest.approx(really.constant, rel=1e-6)


@pytest.mark.parametrize("factor", [0.965, 1.02, 1.043])
def test_a_correction_of_one_column_alone_is_no_mistake_of_units(factor: float) -> None:
    found = power_identity(SPEED, TORQUE, WATTS * factor)
    assert found is not None
    assert not found.agrees
    assert found.probable == ()
    assert "one of the two is corrected or scaled alone" in found.says


def test_too_few_points_say_nothing() -> None:
    assert power_identity(SPEED[:2], TORQUE[:2], WATTS[:2]) is None
    assert power_identity(SPEED, TORQUE * np.nan, WATTS) is None


def test_blanks_and_an_engine_at_rest_are_left_out() -> None:
    speed, torque, watts = SPEED.copy(), TORQUE.copy(), WATTS.copy()
    speed[:3], torque[5:8], watts[10] = 0.0, np.nan, np.nan
    found = power_identity(speed, torque, watts)
    assert found is not None
    assert found.points == SPEED.size - 3 - 3 - 1
    assert found.ratio == pytest.approx(1.0, rel=1e-12)


def test_rows_off_load_do_not_count() -> None:
    idle = np.arange(SPEED.size) % 3 > 0  # two rows of three, with a tenth of the torque and no sense in the power
    found = power_identity(SPEED, np.where(idle, 20.0, TORQUE), np.where(idle, 60_000.0, WATTS))
    assert found is not None
    assert found.ratio == pytest.approx(1.0, rel=1e-12)
    assert found.worst < 1e-9


def test_a_log_without_measured_power_has_no_identity() -> None:
    log = understand(SOURCE, make_table({("RPM", ""): SPEED, ("Power", "W"): WATTS}))
    assert check_identity(log) is None


def test_the_one_pair_too_close_to_refuse_is_a_doubt() -> None:
    torque_says, torque_is, power_says, power_is = TOO_CLOSE
    table = make_table({
        ("RPM", ""): SPEED,
        ("Torque", torque_says): TORQUE / TORQUE_UNITS[torque_is],
        ("Power", power_says): WATTS / POWER_UNITS[power_is],
    })  # fmt: skip
    log = understand(SOURCE, table)
    assert any(
        "torque is probably in lb ft, not N m and power is probably in kW, not PS" in doubt for doubt in log.doubts
    )


@pytest.mark.parametrize(
    ("torque_says", "torque_is", "power_says", "power_is"),
    [
        labels
        for labels in itertools.product(TORQUE_UNITS, TORQUE_UNITS, POWER_UNITS, POWER_UNITS)
        if (labels[0] != labels[1] or labels[2] != labels[3]) and labels != TOO_CLOSE
    ],
)
def test_no_wrong_label_on_torque_or_power_is_taken_silently(
    torque_says: str, torque_is: str, power_says: str, power_is: str
) -> None:
    table = make_table({
        ("RPM", ""): SPEED,
        ("Torque", torque_says): TORQUE / TORQUE_UNITS[torque_is],
        ("Power", power_says): WATTS / POWER_UNITS[power_is],
    })  # fmt: skip
    with pytest.raises(MappingError, match="power, torque and speed contradict each other") as caught:
        understand(SOURCE, table)
    wrong = [
        what for what, says, is_ in (("torque", torque_says, torque_is), ("power", power_says, power_is)) if says != is_
    ]
    assert any(what in str(caught.value) for what in wrong)


@given(
    torque=st.sampled_from(sorted(TORQUE_UNITS)), power=st.sampled_from(sorted(POWER_UNITS)),
    noise=st.floats(0.0, 0.003), seed=st.integers(0, 2**32 - 1),
)  # fmt: skip
def test_right_labels_are_never_refused_for_the_noise_of_a_bench(
    torque: str, power: str, noise: float, seed: int
) -> None:
    scatter = 1.0 + noise * np.random.default_rng(seed).standard_normal(SPEED.size)
    table = make_table({
        ("RPM", ""): SPEED,
        ("Torque", torque): TORQUE / TORQUE_UNITS[torque],
        ("Power", power): WATTS / POWER_UNITS[power] * scatter,
    })  # fmt: skip
    log = understand(SOURCE, table)
    assert np.allclose(log.channels[Channel.TORQUE], TORQUE, rtol=1e-9)


def test_a_correction_of_one_column_is_a_doubt_and_no_refusal() -> None:
    table = make_table({("RPM", ""): SPEED, ("Torque", "N m"): TORQUE, ("Power", "W"): WATTS * 1.043})
    log = understand(SOURCE, table)
    assert any("corrected or scaled alone" in doubt for doubt in log.doubts)


def test_the_tester_s_word_on_units_stands_and_the_contradiction_is_a_doubt() -> None:
    table = make_table({("RPM", ""): SPEED, ("Torque", "N m"): TORQUE, ("Power", "kW"): WATTS / 735.49875})
    log = understand(SOURCE, table, (rule(Channel.POWER, "Power", "kW"),))
    assert any("power is probably in PS, not kW" in doubt for doubt in log.doubts)
