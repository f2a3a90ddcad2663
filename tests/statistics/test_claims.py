"""Error rates of everything that is read off the joint draws, by simulation; printed with the figures of the method.

The figures beside are those of the earlier study in which the method was chosen (500 to 1,000 sessions a scenario,
every pull a fitting of its own); for orders with re-fitting and drift it had none.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from bad_pull_study import SPOILT, bad_pull_study
from chance import most
from claims_study import Counter, Scenario, study
from noise_model import BENCH, IID

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from _pytest.mark import ParameterSet

SESSIONS: Final = 200
FULL: Final = 1000

IID_2X3: Final = Scenario(name="2x3", order="AAABBB", own_fitting=True, timed=False)
NO_GAIN: Final = Scenario(name="2x3, no difference", order="AAABBB", own_fitting=True, timed=False, different=False)
LIFTED: Final = Scenario(name="2x3, no crossing", order="AAABBB", own_fitting=True, timed=False, lift=2.0)
IID_4X3: Final = Scenario(name="4x3", order="AAABBBCCCDDD", own_fitting=True, timed=False)
RETURN: Final = Scenario(name="AAABBBAAA", order="AAABBBAAA", noise=BENCH)
TURNS: Final = Scenario(name="ABABAB", order="ABABAB", noise=BENCH)
REDUCED: Final = (IID_2X3, IID_4X3, RETURN, TURNS)
ALL: Final = (
    Scenario(name="2x2", order="AABB", own_fitting=True, timed=False),
    IID_2X3,
    NO_GAIN,
    LIFTED,
    IID_4X3,
    Scenario(name="8x3", order="AAABBBCCCDDDEEEFFFGGGHHH", own_fitting=True, timed=False),
    Scenario(name="AAABBB", order="AAABBB", noise=BENCH),
    RETURN,
    Scenario(name="AAABBBAAA, no difference", order="AAABBBAAA", noise=BENCH, different=False),
    TURNS,
    Scenario(name="ABABAB, no difference", order="ABABAB", noise=BENCH, different=False),
    Scenario(name="ABABAB, no slope", order="ABABAB", noise=replace(BENCH, drift=0.0)),
    Scenario(name="AAABBBCCCDDDAAA", order="AAABBBCCCDDDAAA", noise=BENCH),
    Scenario(name="ABCDABCDABCD", order="ABCDABCDABCD", noise=BENCH),
)

# Figures of the earlier study (2x3 and 4x3, archive or none, the worse of both), 5 and 6.
NOTE: Final = {
    "speed: supported at the boundary": "5.0",
    "speed: refuted at the boundary": "4.4",
    "peak power: supported at the boundary": "4.6",
    "peak power: refuted at the boundary": "6.0",
    "within: supported": "1.6",
    "within: refuted": "0.6",
    "within at twice the margin: supported": "98-100",
    "family of 6: any supported at the boundary": "1.6",
    "crossovers: more certified than true": "0",
    "crossovers: all certified": "87-97",
    "crossovers: mean curves cross another number of times": "34-36",
    "crossovers: zone without a true one": "0",
    "crossovers: interval holds the true one": "95-98",
    "window torque: held": "95-98",
    "window classical t: held": "96-97",
    "band of the gain: held": "95-97",
    "peak power: held": "94-95",
    "rpm of peak torque: held": "95-96",
    "gain at peak power: held": "95-97",
    "crossover shift: held": "94-96",
    "interaction: differs": "3.7-4.7",
}
BOUNDARY: Final = ("speed", "window", "window power", "window percent", "peak power")
FALSE_CLAIMS: Final = (
    *(f"{claim}: {side} at the boundary" for claim in BOUNDARY for side in ("supported", "refuted")),
    "within: supported",
    "within: refuted",
    "family of 6: any supported at the boundary",
    "family of 6: any refuted at the boundary",
)
HELD: Final = (
    "window torque: held", "window power: held", "window percent: held", "band of the gain: held",
    "band in per cent: held", "gain at peak power: held", "rpm of peak torque: held",
    "crossovers: interval holds the true one", "crossover shift: held",
)  # fmt: skip


@cache
def reduced(scenario: Scenario) -> Counter:
    """200 sessions with fewer draws."""
    return study(scenario, SESSIONS, seed=20, draws=1000)


def _of(scenario: Scenario, *more: object) -> ParameterSet:
    """A scenario whose tests run in one process, so that its sessions are simulated once."""
    group = pytest.mark.xdist_group(f"claims, {scenario.name}")
    return pytest.param(scenario, *more, marks=group, id=scenario.name)


def _each(scenarios: Sequence[Scenario]) -> list[ParameterSet]:
    return [_of(scenario) for scenario in scenarios]


def _at_most(counter: Counter, what: str, percent: float) -> None:
    tries = counter.tries[what]
    assert counter.rate(what) <= most(tries, percent), f"{what}: {counter.rate(what):.1f} % of {tries}"


@pytest.mark.slow
@pytest.mark.parametrize("scenario", _each(REDUCED))
def test_claims_at_the_boundary_are_falsely_decided_in_five_of_a_hundred_sessions(scenario: Scenario) -> None:
    for what in FALSE_CLAIMS:
        _at_most(reduced(scenario), what, 5.0)


@pytest.mark.slow
@pytest.mark.parametrize("scenario", _each(REDUCED))
def test_intervals_hold_the_truth_in_ninety_five_of_a_hundred_sessions(scenario: Scenario) -> None:
    counter = reduced(scenario)
    for what in HELD:
        if counter.tries[what] >= 30:
            missed = 100.0 - counter.rate(what)
            assert missed <= most(counter.tries[what], 5.0), f"{what}: {counter.rate(what):.1f} %"


@pytest.mark.slow
@pytest.mark.parametrize("scenario", _each([*REDUCED, NO_GAIN, LIFTED]))
def test_a_crossover_is_falsely_certified_in_one_of_a_hundred_sessions(scenario: Scenario) -> None:
    counter = reduced(scenario)
    _at_most(counter, "crossovers: more certified than true", 1.0)


@pytest.mark.slow
@pytest.mark.parametrize(("scenario", "what", "above"), [
    _of(NO_GAIN, "crossovers: mean curves cross another number of times", 50.0),
    _of(IID_2X3, "within at twice the margin: supported", 80.0),
])  # fmt: skip
def test_the_study_can_see_a_false_method(scenario: Scenario, what: str, above: float) -> None:
    # The crossings of the mean curves themselves are wrong in a third of the sessions: if these rates were as low as
    # those above, the study would not be measuring anything.
    assert reduced(scenario).rate(what) > above


@pytest.mark.slow
@pytest.mark.parametrize("scenario", _each([RETURN]))
def test_the_study_sees_that_a_classical_interval_is_too_narrow_where_parts_are_fitted_again(
    scenario: Scenario,
) -> None:
    assert reduced(scenario).rate("window classical t: held") < 93.0


@pytest.mark.slow
@pytest.mark.parametrize("scenario", _each([IID_4X3]))
def test_an_interaction_that_is_not_there_is_found_in_five_of_a_hundred_sessions(scenario: Scenario) -> None:
    counter = reduced(scenario)
    _at_most(counter, "interaction: differs", 5.0)
    _at_most(counter, "interaction: margin below the true maximum", 5.0)


@pytest.mark.slow
def test_sound_pulls_are_flagged_in_five_of_a_hundred_sessions_and_bad_ones_mostly() -> None:
    sound = bad_pull_study("AAABBBCCCDDD", IID, "none", 100, seed=30, own_fitting=True)
    _at_most(sound, "flagged", 5.0)
    offset = bad_pull_study("AAABBBCCCDDD", IID, "offset 2.5 %", 60, seed=31, own_fitting=True)
    # The earlier study has 82 %, with a history of the bench; without one, 400 sessions gave the figure of the docs.
    assert offset.rate("the right pull alone") > 45.0


def _table(title: str, rows: dict[str, list[str]], heads: list[str]) -> str:
    lines = [f"| {title} | {' | '.join(heads)} |", f"|{' --- |' * (len(heads) + 1)}"]
    return "\n".join([*lines, *(f"| {name} | {' | '.join(cells)} |" for name, cells in rows.items())])


def _cell(value: float, digits: int = 1) -> str:
    return "" if np.isnan(value) else f"{value:.{digits}f}"


def tables(counters: dict[str, Counter]) -> str:
    """Tables of the documentation: even scatter beside the figures of the earlier study, then re-fitting and drift."""
    parts = []
    for even in (True, False):
        chosen = {one.name: counters[one.name] for one in ALL if (one.noise is IID) is even and one.name in counters}
        whats = dict.fromkeys(what for counter in chosen.values() for what in counter.tries)
        rows = {
            what: [NOTE.get(what, "")] * even + [_cell(one.rate(what)) for one in chosen.values()] for what in whats
        }
        for what in dict.fromkeys(what for counter in chosen.values() for what in counter.widths):
            medians = [float(np.median(one.widths[what])) if what in one.widths else np.nan for one in chosen.values()]
            rows[f"{what}, median [rpm or N m]"] = [""] * even + [_cell(median, 2) for median in medians]
        parts.append(_table("per cent of sessions", rows, ["earlier study"] * even + list(chosen)))
    return "\n\n".join(parts)


@pytest.mark.simulation
def test_full_error_rates(tell: Callable[[str], None]) -> None:
    """Tables of the documentation: 1,000 sessions a scenario."""
    counters = {scenario.name: study(scenario, FULL, seed=40) for scenario in ALL}
    tell(tables(counters))
    for name in (scenario.name for scenario in ALL):
        for what in FALSE_CLAIMS:
            _at_most(counters[name], what, 5.0)
        _at_most(counters[name], "crossovers: more certified than true", 1.0)


@pytest.mark.simulation
def test_full_error_rates_of_bad_pulls(tell: Callable[[str], None]) -> None:
    """Table of the documentation: 400 sessions for each kind of spoilt pull."""
    orders = {
        "4x3": ("AAABBBCCCDDD", IID, True),
        "AAABBBAAA": ("AAABBBAAA", BENCH, False),
        "ABABAB": ("ABABAB", BENCH, False),
        "AAABBBCCCDDDAAA": ("AAABBBCCCDDDAAA", BENCH, False),
    }
    counters = {
        (name, spoilt): bad_pull_study(order, noise, spoilt, 400, seed=50, own_fitting=own)
        for name, (order, noise, own) in orders.items()
        for spoilt in SPOILT
    }
    rows = {
        f"{name}, {spoilt}": [_cell(counter.rate("flagged")), _cell(counter.rate("the right pull alone"))]
        for (name, spoilt), counter in counters.items()
    }
    tell(_table("per cent of sessions", rows, ["any flagged", "the right pull alone"]))
    for name in orders:
        _at_most(counters[name, "none"], "flagged", 5.0)
