"""When cylinders fire: even, from throws and banks, and which orders are no orders."""

from __future__ import annotations

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.firing import angles_from_throws, intervals
from pullbook.errors import EngineFileError

CROSS_PLANE = [1, 8, 4, 3, 6, 5, 7, 2]
PINS = [0, 0, 90, 90, 270, 270, 180, 180]  # one pin for each pair of a cross-plane crank
V90 = [0, 270] * 4  # odd cylinders on one bank, even ones 90 degrees before them in the direction of rotation


def by_bank(angles: tuple[float, ...], first: int) -> tuple[float, ...]:
    return intervals(angles[first::2])


def test_a_cross_plane_crank_fires_evenly_and_each_bank_unevenly() -> None:
    angles = angles_from_throws(CROSS_PLANE, PINS, V90, "here")
    assert intervals(angles) == (90.0,) * 8
    # Practice: in one bank two cylinders follow after 90 degrees and two others after 270.
    assert sorted(by_bank(angles, 0)) == [90.0, 180.0, 180.0, 270.0]
    assert sorted(by_bank(angles, 1)) == [90.0, 180.0, 180.0, 270.0]


def test_throws_and_even_firing_say_the_same_of_a_cross_plane_crank() -> None:
    order = ", ".join(map(str, CROSS_PLANE))
    throws, axes = (" ".join(map(str, values)) for values in (PINS, V90))
    even = parse_engine(f"[engine]\nfiring_order = [{order}]\n").block
    crank = parse_engine(
        f'[engine]\nfiring_order = [{order}]\ncrank_throws = "{throws} deg"\ncylinder_angles = "{axes} deg"\n'
    ).block
    assert crank.firing_angles_deg == even.firing_angles_deg


def test_a_flat_plane_crank_fires_each_bank_evenly() -> None:
    # One bank is a four with its throws at 0, 180, 180, 0.
    angles = angles_from_throws([1, 3, 4, 2], [0, 180, 180, 0], [0] * 4, "here")
    assert intervals(angles) == (180.0,) * 4


@pytest.mark.parametrize(
    ("axis", "between"),
    [(-45.0, [315.0, 405.0]), (-90.0, [270.0, 450.0]), (-60.0, [300.0, 420.0])],
)
def test_a_v_twin_on_one_pin_fires_at_360_less_and_more_its_angle(axis: float, between: list[float]) -> None:
    assert sorted(intervals(angles_from_throws([1, 2], [0, 0], [0, axis], "here"))) == between


def test_a_crank_that_cannot_fire_in_that_order_is_refused() -> None:
    with pytest.raises(EngineFileError, match="fires in that order only in 3 turns, not 2"):
        angles_from_throws([1, 2, 3, 4], [0, 180, 180, 0], [0] * 4, "engine.toml: engine.crank_throws")


def test_declared_firing_angles_belong_to_the_firing_order() -> None:
    block = parse_engine('[engine]\nfiring_order = [1, 3, 4, 2]\nfiring_angles = "0 180 270 450 deg"\n').block
    assert block.firing_angles_deg == (0.0, 450.0, 180.0, 270.0)  # by cylinder number


def test_firing_angles_and_throws_together_are_refused() -> None:
    text = '[engine]\nfiring_order = [1, 2]\nfiring_angles = "0 360 deg"\ncrank_throws = "0 0 deg"\n'
    with pytest.raises(EngineFileError, match="the same thing twice"):
        parse_engine(text)
