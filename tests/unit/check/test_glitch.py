"""Glitches are found and told from what the engine does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_pull
from check_cases import answers, bump, level_of, noisy_pull, of_check, pull_with, session_of, sweep

from pullbook.check.bumps import map_bumps, sample_noise
from pullbook.check.glitch_session import check_glitches, settle_glitches
from pullbook.quantities.channels import Channel
from pullbook.records.check import Level
from pullbook.records.pull import TorqueKind

NAMES = [f"pulls/{number}.csv" for number in range(6)]


def six_pulls() -> list:  # type: ignore[type-arg]  # pulls of two builds, three each
    return [noisy_pull(20 + i, name, build="AAABBB"[i]) for i, name in enumerate(NAMES)]


@pytest.mark.parametrize("width", [100.0, 200.0])
@pytest.mark.parametrize("percent", [-4.0, 4.0])
def test_a_short_bump_of_four_per_cent_is_found_where_it_is(percent: float, width: float) -> None:
    check = of_check(answers(bump(noisy_pull(11), percent, 4200.0, width)), "glitch")
    assert check.level is Level.LOOK
    assert ("jumps up" if percent > 0 else "drops") in check.says
    assert check.rpm_low is not None
    assert check.rpm_high is not None
    assert 4000.0 <= check.rpm_low <= 4200.0 <= check.rpm_high <= 4400.0


def test_what_no_engine_can_do_is_unfit_from_one_pull_alone() -> None:
    check = of_check(answers(bump(noisy_pull(12), 12.0, 4200.0, 80.0)), "glitch")
    assert check.level is Level.UNFIT
    assert "no other channel moves with it" in check.says


def test_a_loose_plug_that_jumps_up_and_down_is_unfit() -> None:
    pull = noisy_pull(13)
    torque = pull.channels[Channel.TORQUE].copy()
    torque[75:83] *= [0.15, 1.45, 0.05, 0.3, 1.6, 0.02, 0.85, 0.1]
    assert level_of(answers(pull_with(pull, torque=torque)), "glitch") is Level.UNFIT


def test_a_single_wild_sample_among_many_is_looked_at_but_spoils_nothing() -> None:
    pull = make_pull(sweep_rate=100.0)  # two rpm from sample to sample
    torque = pull.channels[Channel.TORQUE].copy()
    torque[1000] *= 1.3
    check = of_check(answers(pull_with(pull, torque=torque)), "glitch")
    assert check.level is Level.LOOK
    assert "One sample jumps" in check.says
    assert f"{sweep(pull)[1000]:,.0f} rpm" in check.says


def test_a_glitch_outside_the_range_that_is_analysed_does_not_matter() -> None:
    pull = bump(noisy_pull(14), 12.0, 2300.0, 80.0)
    assert level_of(answers(pull, rpm_range=(3000.0, 6000.0)), "glitch") is Level.OK
    assert level_of(answers(pull), "glitch") is Level.UNFIT


def test_a_bump_that_fuel_flow_shows_too_was_made_by_the_engine() -> None:
    pull = bump(noisy_pull(15), 12.0, 4200.0, 100.0)
    fuel = 0.005 * (1.0 + 0.10 * (np.abs(sweep(pull) - 4200.0) <= 50.0)) * sweep(pull) / 6000.0
    check = of_check(answers(pull_with(pull, fuel_flow=fuel)), "glitch")
    assert check.level is Level.LOOK
    assert "fuel flow moves with it" in check.says


def test_a_bump_that_only_one_pull_shows_is_a_glitch_of_that_pull() -> None:
    pulls = six_pulls()
    pulls[1] = bump(pulls[1], 4.0, 4200.0, 150.0)
    found = check_glitches(*session_of(pulls, "AAABBB")[:1], rpm_range=(2000.0, 6500.0))
    assert [(check.pull, check.level) for check in found] == [(NAMES[1], Level.UNFIT)]
    assert "no other pull does so there" in found[0].says


def test_what_all_pulls_of_a_build_show_is_what_its_parts_do() -> None:
    pulls = six_pulls()
    pulls[3:] = [bump(pull, 5.0, 4200.0, 100.0) for pull in pulls[3:]]
    assert check_glitches(session_of(pulls, "AAABBB")[0]) == ()


def test_a_dip_of_all_pulls_of_a_build_is_no_glitch_where_other_builds_rise() -> None:
    # Tuned pipes do that; against the builds that rise, the deepest of the three dips is twice as large as its kin's.
    sizes = (2.5, 2.5, 2.5, -3.5, -2.2, -2.2)
    pulls = [bump(pull, percent, 4200.0, 200.0) for pull, percent in zip(six_pulls(), sizes, strict=True)]
    assert check_glitches(session_of(pulls, "AAABBB")[0]) == ()


def test_a_bump_that_the_other_pulls_of_the_build_show_is_not_looked_at_and_one_of_its_own_is() -> None:
    pulls = six_pulls()
    pulls[3:] = [bump(pull, 5.0, 4200.0, 100.0) for pull in pulls[3:]]
    pulls[1] = bump(pulls[1], -5.0, 3200.0, 100.0)
    alone = [of_check(answers(pull), "glitch") for pull in pulls]
    assert [check.level for check in alone] == [Level.OK, Level.LOOK, Level.OK, *[Level.LOOK] * 3]
    settled = settle_glitches(alone, session_of(pulls, "AAABBB")[0])
    assert [check.level for check in settled] == [Level.OK, Level.LOOK, *[Level.OK] * 4]
    assert settled[:3] == tuple(alone[:3])
    assert "so it does in the other pulls of B: the parts do that" in settled[3].says
    assert settled[3].remedy == ""


def test_the_only_pull_of_a_build_is_not_unfit_for_what_its_parts_may_do() -> None:
    pulls = six_pulls()
    pulls[5] = bump(pulls[5], 5.0, 4200.0, 200.0)
    (found,) = check_glitches(session_of(pulls, "AAABBC")[0])
    assert (found.pull, found.level) == (NAMES[5], Level.LOOK)
    assert "with one pull of C" in found.says
    assert found.remedy == "make another pull of C"


def test_a_bump_of_a_build_with_one_pull_stays_to_be_looked_at() -> None:
    pulls = six_pulls()
    pulls[3:] = [bump(pull, 5.0, 4200.0, 100.0) for pull in pulls[3:]]
    alone = [of_check(answers(pull), "glitch") for pull in pulls]
    assert settle_glitches(alone, session_of(pulls, "AAABCD")[0]) == tuple(alone)


def test_a_switching_camshaft_in_every_pull_is_no_glitch() -> None:
    def switched(pull_number: int) -> object:
        pull = six_pulls()[pull_number]
        torque = pull.channels[Channel.TORQUE] * np.where(sweep(pull) > 4800.0, 1.06, 1.0)
        return pull_with(pull, torque=torque)

    pulls = [switched(number) for number in range(6)]
    contexts = session_of(pulls, "AAABBB")[0]  # type: ignore[arg-type]  # they are pulls
    assert check_glitches(contexts) == ()
    assert all(level_of(answers(context.pull), "glitch") is not Level.UNFIT for context in contexts)


def test_pulls_left_out_are_neither_judged_nor_asked() -> None:
    pulls = six_pulls()
    pulls[1] = bump(pulls[1], 4.0, 4200.0, 150.0)
    contexts = session_of(pulls, "AAABBB")[0]
    contexts[1] = replace(contexts[1], used=False)
    assert check_glitches(contexts) == ()


def test_a_pull_through_two_gears_is_never_unfit_for_its_jumps() -> None:
    first, second = np.arange(2000.0, 4500.0, 30.0), np.arange(4200.0, 6500.0, 30.0)
    pull = make_pull(speed_rpm=np.concatenate((first, second)))
    torque = pull.channels[Channel.TORQUE] * np.repeat([1.0, 1.4], [first.size, second.size])
    check = of_check(answers(pull_with(pull, torque=torque), rpm_range=None), "glitch")
    assert check.level is Level.LOOK
    assert "gear" in check.says


def test_a_load_signal_is_judged_like_torque() -> None:
    pull = bump(noisy_pull(16), 12.0, 4200.0, 80.0)
    volts = pull.channels[Channel.TORQUE] / 60.0
    channels = {Channel.SPEED: sweep(pull), Channel.TIME: pull.channels[Channel.TIME], Channel.LOAD_SIGNAL: volts}
    signal = replace(pull, channels=channels, torque_kind=TorqueKind.RELATIVE)
    check = of_check(answers(signal), "glitch")
    assert check.level is Level.UNFIT
    assert "load signal" in check.says


def test_the_size_of_a_bump_on_a_parabola_is_exact() -> None:
    speed = np.arange(2000.0, 6000.0, 5.0)
    curve = 200.0 - ((speed - 4000.0) / 200.0) ** 2
    raised = curve + 7.0 * (np.abs(speed - 3500.0) < 49.0)
    # A parabola is its own fit, so that the map of the plain curve is zero and that of the raised one is the bump.
    for found in map_bumps(speed, curve):
        assert np.nanmax(np.abs(found.size)) < 1e-6
    narrow = map_bumps(speed, raised)[1]
    assert narrow.width_rpm == 100.0
    assert narrow.size[narrow.centre_rpm == 3500.0] == pytest.approx(7.0 * 19 / 20, rel=1e-6)


def test_noise_of_samples_is_found_in_spite_of_curve_and_outliers() -> None:
    rng = np.random.default_rng(17)
    speed = np.sort(rng.uniform(2000.0, 6500.0, 2000))
    values = 200.0 - ((speed - 4000.0) / 200.0) ** 2 + 1.5 * rng.standard_normal(speed.size)
    values[::50] += 40.0
    assert np.median(sample_noise(speed, values)) == pytest.approx(1.5, rel=0.15)


def test_too_few_samples_give_no_answer_about_glitches() -> None:
    pull = make_pull(speed_rpm=np.arange(2000.0, 6500.0, 250.0))
    assert [check for check in answers(pull) if check.check == "glitch"] == []
