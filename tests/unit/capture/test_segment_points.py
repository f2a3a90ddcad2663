"""Tables of points without a running clock: one curve, several, or none."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from builders_tables import curve_speed, make_log, torque_curve

from pullbook.capture.mapping_notes import stated_speed
from pullbook.capture.segment import Kind, find_pulls, require_pulls
from pullbook.errors import FileRefusedError
from pullbook.quantities.channels import Channel
from pullbook.records.pull import Direction

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pull import Log


def points(speed: FloatArray, **more: Any) -> Log:
    """Table of points without time."""
    channels = {Channel.SPEED: speed, Channel.TORQUE: torque_curve(speed)}
    return make_log(channels | {Channel(name): values for name, values in more.items()})


@pytest.mark.parametrize("falling", [False, True])
def test_a_table_of_points_is_one_curve_with_every_row(falling: bool) -> None:  # noqa: FBT001 (a parametrised flag)
    speed = curve_speed(count=19)[:: -1 if falling else 1]
    (pull,) = find_pulls(points(speed), "x").pulls
    assert pull.direction is (Direction.DOWN if falling else Direction.UP)
    assert pull.rows.tolist() == list(range(2, 21))
    assert np.array_equal(pull.channels[Channel.SPEED], speed)


def test_repeated_bins_are_kept() -> None:
    speed = np.repeat(curve_speed(count=20), 2)
    (pull,) = find_pulls(points(speed), "x").pulls
    assert pull.rows.size == 40


def test_pulls_stacked_without_time_are_told_apart() -> None:
    speed = np.concatenate([curve_speed(count=46)] * 3)
    found = find_pulls(points(speed), "x.csv")
    assert [pull.rows.size for pull in found.pulls] == [46, 46, 46]
    assert found.pulls[2].name == "x.csv#3"


def test_points_in_no_order_are_one_step_test_with_a_doubt() -> None:
    speed = np.random.default_rng(3).permutation(curve_speed(count=24))
    (pull,) = find_pulls(points(speed), "x").pulls
    assert pull.direction is Direction.STEPS
    assert any("in no order of speed" in doubt for doubt in pull.doubts)


def test_points_a_few_seconds_apart_are_steady_points() -> None:
    speed = curve_speed(count=12)
    (pull,) = find_pulls(points(speed, time=np.arange(12) * 20.0), "x").pulls
    assert pull.direction is Direction.STEPS


def test_a_table_of_points_at_part_throttle_is_no_pull() -> None:
    speed = curve_speed(count=24)
    found = find_pulls(points(speed, throttle=np.full(24, 0.45)), "x")
    assert found.pulls == ()
    assert len(found.part_throttle) == 1


def test_a_table_of_points_without_throttle_says_what_was_assumed() -> None:
    (pull,) = find_pulls(points(curve_speed(count=24)), "x").pulls
    assert any("nothing in the file tells how far the throttle was open" in doubt for doubt in pull.doubts)


def test_constant_speed_is_a_plateau_and_is_refused_by_its_value() -> None:
    found = find_pulls(points(np.full(24, 1100.0)), "x.csv")
    assert [aside.kind for aside in found.set_aside] == [Kind.PLATEAU]
    with pytest.raises(FileRefusedError, match="engine speed stays at 1100 rpm in all 24 rows: that is no sweep"):
        require_pulls(found, "x.csv")


@pytest.mark.parametrize(
    ("lines", "speed"),
    [
        (("Date; Engine speed [RPM]", "20250325; 1100.0"), 1100.0),
        (("Engine speed: 3000 1/min",), 3000.0),
        (("Drehzahl = 52.5 Hz",), 3150.0),
        (("Dyno speed [rpm]", "1500"), None),
        (("Engine speed [RPM]", "fast"), None),
        (("Engine speed", "1100"), None),
        (("Oil Temp: 90 C",), None),
        ((), None),
    ],
)
def test_a_speed_stated_outside_the_table_is_found_with_its_unit_only(
    lines: tuple[str, ...], speed: float | None
) -> None:
    assert stated_speed(lines) == speed
