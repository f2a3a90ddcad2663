"""What could fake a gain: conditions that differ between a build and the baseline."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from builders import AIR, make_pull
from check_cases import noisy_pull, of_check, pull_with, session_of, sweep

from pullbook.check.balance import check_session
from pullbook.check.sensitivity import explained
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.check import Check, Level
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pullbook.records.pull import Pull

SIZE = sweep(noisy_pull(1)).size
ORDER = "AABBA"


def pulls_with(channel: str, baseline: float, build: float) -> list[Pull]:
    """Two pulls of A, two of B, one of A, with a constant channel that differs a little from pull to pull."""
    return [
        pull_with(
            noisy_pull(30 + number, f"pulls/{number}.csv", build=name),
            **{channel: np.full(SIZE, (build if name == "B" else baseline) + 1e-5 * number)},
        )
        for number, name in enumerate(ORDER)
    ]


def checked(pulls: list[Pull], **changes: object) -> tuple[Check, ...]:
    contexts, session = session_of(pulls, ORDER, **changes)
    return check_session(contexts, session)


@pytest.mark.parametrize(
    ("channel", "baseline", "build", "words"),
    [
        ("oil_temperature", 363.15, 369.15, "The oil differs by +6.0 K between B and the baseline"),
        ("coolant_temperature", 357.15, 352.15, "The coolant differs by -5.0 K"),
        ("mixture", 0.88, 0.92, "The mixture differs by +0.040 lambda"),
        ("spark", 28.0, 30.0, "The spark differs by +2.0°"),
        ("air_temperature", 295.15, 303.15, "The inlet air differs by +8.0 K"),
        ("air_pressure", 99_000.0, 97_500.0, "The air pressure differs by -1.5 kPa"),
        ("throttle", 1.0, 0.95, "The throttle differs by -5.0 points"),
    ],
)
def test_a_condition_that_differs_is_looked_at_with_its_size(
    channel: str, baseline: float, build: float, words: str
) -> None:
    check = of_check(checked(pulls_with(channel, baseline, build)), f"balance_{channel}")
    assert check.level is Level.LOOK
    assert words in check.says
    assert check.remedy
    assert check.pull == ""


def test_conditions_that_agree_are_ok_with_the_largest_difference() -> None:
    check = of_check(checked(pulls_with("oil_temperature", 363.15, 364.15)), "balance_oil_temperature")
    assert check.level is Level.OK
    assert "within 1.0 K" in check.says


def test_a_channel_that_only_one_of_the_two_has_is_not_asked() -> None:
    pulls = pulls_with("oil_temperature", 363.15, 369.15)
    pulls[2:4] = [noisy_pull(number, f"pulls/{number}.csv", build="B") for number in (2, 3)]
    assert not [check for check in checked(pulls) if check.check == "balance_oil_temperature"]


def test_a_pull_that_is_left_out_does_not_count() -> None:
    contexts, session = session_of(pulls_with("oil_temperature", 363.15, 363.15), ORDER)
    cold = pull_with(contexts[0].pull, oil_temperature=np.full(SIZE, 320.0))
    contexts[0] = replace(contexts[0], pull=cold, used=False)
    assert of_check(check_session(contexts, session), "balance_oil_temperature").level is Level.OK


def test_declared_air_is_compared_where_the_files_have_none() -> None:
    pulls = [noisy_pull(number, f"pulls/{number}.csv", build=name) for number, name in enumerate(ORDER)]
    contexts, session = session_of(pulls, ORDER)
    warm = replace(AIR, temperature=308.15)
    entries = tuple(replace(entry, air=warm if entry.build == "B" else AIR) for entry in session.pulls)
    check = of_check(check_session(contexts, replace(session, pulls=entries)), "balance_air_temperature")
    assert check.level is Level.LOOK
    assert "+10.9 K" in check.says  # 308.15 less 297.25


def test_without_correction_a_small_difference_of_air_matters_and_is_sized_in_full() -> None:
    pulls = pulls_with("air_temperature", 295.15, 298.15)
    assert of_check(checked(pulls), "balance_air_temperature").level is Level.OK
    check = of_check(checked(pulls, standard=Standard.NONE), "balance_air_temperature")
    assert check.level is Level.LOOK
    # 0.198 % a kelvin at the reference of SAE J1349 (derivative of its formula), three kelvin
    assert check.could_explain == pytest.approx(0.594, abs=0.002)


def slow(pull: Pull) -> Pull:
    return pull_with(pull, time=2.0 * pull.channels[Channel.TIME])


def test_another_sweep_rate_is_sized_by_the_inertia_of_a_car_engine() -> None:
    pulls = [noisy_pull(40 + number, f"pulls/{number}.csv", build=name) for number, name in enumerate(ORDER)]
    pulls[2:4] = [slow(pull) for pull in pulls[2:4]]
    check = of_check(checked(pulls, inertia=None), "balance_sweep_rate")
    assert check.level is Level.LOOK
    assert "-150 rpm/s" in check.says
    # 150 rpm/s are 15.71 rad/s2; 0.1 to 0.3 kg m^2 times that is 1.6 to 4.7 N m; the baseline has about 190 N m
    assert "1.6 to 4.7 N m" in check.says
    assert check.could_explain == pytest.approx(100 * 0.3 * 15.708 / 192.0, rel=0.04)


def test_a_declared_inertia_takes_the_sweep_rate_out_of_the_doubt() -> None:
    pulls = [noisy_pull(40 + number, f"pulls/{number}.csv", build=name) for number, name in enumerate(ORDER)]
    pulls[2:4] = [slow(pull) for pull in pulls[2:4]]
    assert of_check(checked(pulls, inertia=0.21), "balance_sweep_rate").could_explain is None


# Mixture 0.88 is the best of [2] there and 1.00 is 5 % worse, so the parabola is worth 5 * (0.04/0.12)^2 = 0.56 %.
def test_mixture_is_sized_by_a_parabola_through_two_usual_values() -> None:
    session = session_of([make_pull()], "A")[1]
    percent, words = explained(Channel.MIXTURE, (1.0, 0.88), session=session, torque=200.0)
    assert percent == pytest.approx(5.0)
    assert "usual" in words
    assert explained(Channel.MIXTURE, (0.92, 0.88), session=session, torque=200.0)[0] == pytest.approx(0.5556, abs=1e-3)
    assert explained(Channel.MIXTURE, (0.92, 0.84), session=session, torque=200.0)[0] == pytest.approx(0.0, abs=1e-9)


def test_what_nobody_knows_is_not_sized() -> None:
    session = session_of([make_pull()], "A")[1]
    assert explained(Channel.COOLANT_TEMPERATURE, (360.0, 350.0), session=session, torque=200.0) == (None, "")
    assert explained(Channel.AIR_HUMIDITY, (0.6, 0.4), session=session, torque=200.0) == (None, "")


def test_sentences_come_in_the_units_of_the_reader_and_sizes_do_not_change() -> None:
    contexts, session = session_of(pulls_with("oil_temperature", 363.15, 369.15), ORDER)
    metric, us = (of_check(check_session(contexts, session, system=s), "balance_oil_temperature") for s in UnitSystem)
    assert "+11 °F" in us.says  # 6 K = 10.8 degF
    assert us.could_explain == metric.could_explain


def test_a_session_of_one_build_has_nothing_to_balance() -> None:
    pulls = [noisy_pull(number, f"pulls/{number}.csv") for number in range(3)]
    contexts, session = session_of(pulls, "AAA")
    assert not [check for check in check_session(contexts, session) if check.check.startswith("balance")]
