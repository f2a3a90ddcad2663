"""Pulses of a hundredth, three and six tenths of a bar in simulated pipes that meet in a join.

The pulse is a front with a plateau behind it, so that the pressures beside the join can be read when it stands still
there. Small pulses are held to linear acoustics, large ones to the nested bisection of ``test_joins_large.py``, which
solves the equations of one wave in each pipe and of the join anew.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from join_equations import one_active
from small_network import C0, P0, SmallNetwork, centres, closed, silent, straight

from pullbook.gas.join_mixing import JOIN_MIXING, JOIN_STATIC, merge_cosines, turning_cosines

if TYPE_CHECKING:
    from small_network import End

    from pullbook.quantities.arrays import FloatArray

CELL: Final = 0.01
MODELS: Final = (JOIN_STATIC, JOIN_MIXING)

# Areas, angles, and the reflected part by linear acoustics: (A1 - sum of the others)/(sum of all) (Rayleigh, Theory of
# Sound, section 264); what goes on is 1 more.
JOINS: Final[dict[str, tuple[tuple[float, ...], FloatArray, float]]] = {
    "three-way": ((1.0, 1.0, 1.0), turning_cosines(np.array([0.0, 120.0, 240.0])), -1.0 / 3.0),
    "five-way": ((1.0,) * 5, merge_cosines(5, 10.0), -0.6),
    "four into one": ((1.0, 1.0, 1.0, 1.0, 4.0), merge_cosines(5, 10.0), -0.75),
}


@cache
def parts(name: str, model: int, bar: float) -> tuple[float, list[float]]:
    """Reflected part of a pulse in the first pipe, and the parts in the others, from the pressures beside the join."""
    areas, cosine, _ = JOINS[name]
    shapes = [straight(2.0, 1e-3 * areas[0], CELL), *(straight(1.0, 1e-3 * area, CELL) for area in areas[1:])]
    ends: dict[tuple[int, int], End] = {(0, 0): closed}
    ends.update({(k, 1): silent for k in range(1, len(areas))})
    members = [(0, 1), *((k, 0) for k in range(1, len(areas)))]
    network = SmallNetwork(shapes=shapes, ends=ends, joins=[(members, cosine, model)])
    rise = np.clip((1.9 - centres(2.0, CELL)) / 0.5, 0.0, 1.0)
    pressure: FloatArray = P0 * (1.0 + bar * np.sin(0.5 * np.pi * rise) ** 2)
    network.fill(0, pressure, 5.0 * C0 * ((pressure / P0) ** (1.0 / 7.0) - 1.0))
    # Before the expansion from the closed end, at 1.4 times the speed of sound at most, arrives.
    while network.time < 1.25 / C0:
        network.step(network.safe_step())
    height = bar * P0
    back = float(network.pressure(0)[-8:].mean()) - P0 - height
    on = [float(network.pressure(k)[:8].mean()) - P0 for k in range(1, len(areas))]
    return back / height, [one / height for one in on]


def by_bisection(name: str, model: int, bar: float) -> tuple[float, list[float]]:
    """The same by the equations alone."""
    areas, cosine, _ = JOINS[name]
    merge, each = one_active(bar, [(area, float(cosine[0, i])) for i, area in enumerate(areas) if i > 0], model)
    height = bar * P0
    return (merge - P0 - height) / height, [(one - P0) / height for one in each]


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("name", JOINS)
def test_a_hundredth_of_a_bar_is_reflected_and_passed_on_within_a_hundredth(name: str, model: int) -> None:
    # Wanted: 2 %.
    back, on = parts(name, model, 0.01)
    reflected = JOINS[name][2]
    assert back == pytest.approx(reflected, rel=0.01)
    assert on == pytest.approx([1.0 + reflected] * len(on), rel=0.01)


@pytest.mark.parametrize("bar", [0.01, 0.3, 0.6])
@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("name", JOINS)
def test_pressures_beside_the_join_are_those_of_the_equations(name: str, model: int, bar: float) -> None:
    back, on = parts(name, model, bar)
    wanted_back, wanted_on = by_bisection(name, model, bar)
    assert back == pytest.approx(wanted_back, abs=1.5e-3)
    assert on == pytest.approx(wanted_on, abs=6e-4)


# Why large pulses depart from linear acoustics. With one pressure for all, only the gas counts: compressed gas is
# stiffer and denser, so that a compression is sent back more (-0.354 instead of -0.333). With mixing, the jet out of
# the active pipe adds to that: pipes in its way gain part of its head, those beside it see the merge plane alone.
@pytest.mark.parametrize("name", JOINS)
@pytest.mark.parametrize("model", MODELS)
def test_the_larger_the_pulse_the_more_of_it_is_sent_back(name: str, model: int) -> None:
    back = [parts(name, model, bar)[0] for bar in (0.01, 0.3, 0.6)]
    assert back[0] > back[1] + 0.01
    assert back[1] > back[2] + 0.005


def test_pipes_in_the_way_of_the_jet_get_more_and_pipes_beside_it_less() -> None:
    for name in ("five-way", "four into one"):
        for bar in (0.3, 0.6):
            plain, mixed = parts(name, JOIN_STATIC, bar)[1], parts(name, JOIN_MIXING, bar)[1]
            assert mixed[-1] > 1.1 * plain[-1]
            assert max(mixed[:-1]) < 0.95 * plain[0]
            # All of one kind are alike.
            assert mixed[:-1] == pytest.approx([mixed[0]] * (len(mixed) - 1), rel=1e-9)


def test_a_three_way_join_at_120_degrees_has_nothing_in_the_way_of_the_jet() -> None:
    plain, mixed = parts("three-way", JOIN_STATIC, 0.6), parts("three-way", JOIN_MIXING, 0.6)
    assert mixed[1] == pytest.approx(plain[1], rel=6e-3)
    assert mixed[1][0] == pytest.approx(mixed[1][1], rel=1e-9)
