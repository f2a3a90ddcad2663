"""Friction models against worked values."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Final

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.friction import FrictionGeometry, barnes_moss, chen_flynn, component_friction
from pullbook.engine.friction_models import friction_of, friction_remark
from pullbook.errors import OutOfRangeError

# Heywood 1988, chapter 13 (from memory): 2.0 L, 86 x 86 mm, five mains of 56 mm, double overhead cams and 16 valves,
# r 10.
TWO_LITRE: Final = FrictionGeometry(
    bore=0.086, stroke=0.086, compression_ratio=10.0, cylinders=4, main_bearings=5, cam_bearings=10, valves=16,
    main_diameter=0.056, main_length=0.021, rod_diameter=0.048, rod_length=0.019, valve_lift=0.009,
)  # fmt: skip


@pytest.mark.parametrize(
    ("speed", "expected"),
    # Heywood 1988, chapter 13 (from memory) (equation 13.6).
    [(1000, 1.17), (2000, 1.47), (3000, 1.87), (4000, 2.37), (5000, 2.97), (6000, 3.67), (7000, 4.47)],
)
def test_barnes_moss_has_the_published_values(speed: float, expected: float) -> None:
    assert barnes_moss(speed) / 1e5 == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("coefficients", "slow", "fast"),
    # Heywood 1988, chapter 13 (from memory): pmax 70 bar; Sp 8 and 16 m/s. The published fit, and a common one for
    # petrol engines.
    [((0.137e5, 0.005, 0.162e5, 0.0), 1.783, 3.079), ((0.4e5, 0.005, 0.09e5, 0.0009e5), 1.5276, 2.4204)],
)
def test_chen_flynn_has_the_worked_values(
    coefficients: tuple[float, float, float, float], slow: float, fast: float
) -> None:
    assert chen_flynn(70e5, 8.0, coefficients) / 1e5 == pytest.approx(slow, abs=1e-9)
    assert chen_flynn(70e5, 16.0, coefficients) / 1e5 == pytest.approx(fast, abs=1e-9)


def test_chen_flynn_without_coefficients_is_the_published_fit() -> None:
    assert chen_flynn(70e5, 8.0) == pytest.approx(1.783e5, rel=1e-9)


@pytest.mark.parametrize(("speed", "expected"), [(1000, 86.0), (2000, 98.0), (4000, 138.0), (6000, 191.0)])
def test_component_model_of_a_two_litre_four_is_near_an_independent_evaluation(speed: float, expected: float) -> None:
    # Heywood 1988, chapter 13 (from memory): evaluated independently with coefficients from memory; +-15 per cent is
    # the band of the model.
    assert component_friction(TWO_LITRE, speed).total / 1e3 == pytest.approx(expected, rel=0.04)


@pytest.mark.parametrize(("speed", "expected"), [(1000, 10.9), (2000, 15.0), (4000, 27.7), (6000, 46.3)])
def test_auxiliaries_have_the_worked_values(speed: float, expected: float) -> None:
    # Heywood 1988, chapter 13 (from memory): 8.32 + 1.86e-3 N + 7.45e-7 N^2 kPa.
    assert component_friction(TWO_LITRE, speed).auxiliaries / 1e3 == pytest.approx(expected, abs=0.06)


def test_total_is_the_sum_of_its_parts() -> None:
    parts = component_friction(TWO_LITRE, 4000.0)
    assert parts.total == pytest.approx(
        parts.crank + parts.pistons + parts.gas_load + parts.valvetrain + parts.auxiliaries, rel=1e-12
    )
    assert min(parts.crank, parts.pistons, parts.gas_load, parts.valvetrain, parts.auxiliaries) > 0.0


def test_thicker_oil_bigger_bearings_and_flat_followers_cost_friction() -> None:
    usual = component_friction(TWO_LITRE, 3000.0)
    assert component_friction(replace(TWO_LITRE, viscosity=2.0), 3000.0).total > usual.total
    assert component_friction(replace(TWO_LITRE, main_diameter=0.065), 3000.0).crank > 1.2 * usual.crank
    assert component_friction(replace(TWO_LITRE, roller=True), 3000.0).valvetrain < usual.valvetrain
    assert component_friction(TWO_LITRE, 3000.0, intake_ratio=0.5).gas_load == pytest.approx(0.5 * usual.gas_load)


def test_mechanical_efficiency_at_full_throttle_is_what_engines_have() -> None:
    # Heywood 1988, chapter 13 (from memory): 12 bar brake and 1.4 bar at 4000 rpm -> 89.6 %.
    total = component_friction(TWO_LITRE, 4000.0).total
    assert 12e5 / (12e5 + total) == pytest.approx(0.896, abs=0.02)


def test_unknown_valve_train_is_refused_with_those_there_are() -> None:
    with pytest.raises(OutOfRangeError, match=r"desmodromic.*direct, end-pivot"):
        component_friction(replace(TWO_LITRE, valvetrain="desmodromic"), 3000.0)


def test_slack_rings_and_auxiliaries_driven_from_outside_save_friction() -> None:
    usual = component_friction(TWO_LITRE, 3000.0)
    slack = component_friction(replace(TWO_LITRE, ring_tension=0.5), 3000.0)
    assert slack.pistons < usual.pistons
    assert slack.gas_load < usual.gas_load
    # The term of the rings (from memory): 4.06e4 (1 + 500 / N) / B^2 kPa, bore in mm; half of it at 3000 rpm.
    assert (usual.pistons - slack.pistons) / 1e3 == pytest.approx(0.5 * 4.06e4 * (1.0 + 500.0 / 3000.0) / 86.0**2)
    assert component_friction(replace(TWO_LITRE, auxiliaries=0.0), 3000.0).auxiliaries == 0.0


FILE: Final = """
    [engine]
    bore = "86 mm"
    stroke = "86 mm"
    compression_ratio = 10.0
    [intake_cam]
    valve_lift = "9 mm"
    [friction]
    model = "components"
    main_bearings = 5
    main_diameter = "56 mm"
    main_length = "21 mm"
    rod_diameter = "48 mm"
    rod_length = "19 mm"
    ring_tension = 0.8
    valve_train = "centre-pivot"
    roller = true
    cam_bearings = 10
    oil_viscosity = 1.2
    auxiliaries = 0.5
"""


def test_parts_of_an_engine_file_are_those_of_the_model() -> None:
    spec = parse_engine(FILE)
    expected = replace(
        TWO_LITRE, ring_tension=0.8, valvetrain="centre-pivot", roller=True, viscosity=1.2, auxiliaries=0.5
    )
    assert spec.friction.geometry is not None
    found, wanted = asdict(spec.friction.geometry), asdict(expected)
    assert (found.pop("valvetrain"), found.pop("roller")) == (wanted.pop("valvetrain"), wanted.pop("roller"))
    assert found == pytest.approx(wanted, rel=1e-12)
    assert not [one.key for one in spec.assumed if one.key.startswith("friction.") and one.key != "friction.factor"]
    assert friction_of(spec)(70e5, -0.2e5, 4000.0) == pytest.approx(component_friction(expected, 4000.0).total)


def test_each_part_that_is_not_declared_is_assumed_by_name() -> None:
    spec = parse_engine('[friction]\nmodel = "components"\n')
    assumed = {one.key: one.value for one in spec.assumed if one.key.startswith("friction.")}
    # 86 mm: mains 0.63, big ends 0.55, lengths 0.24 of it; five mains of a four, two camshafts with five each.
    assert assumed == {
        "friction.main_bearings": "5", "friction.main_diameter": "54.18 mm", "friction.main_length": "20.64 mm",
        "friction.rod_diameter": "47.3 mm", "friction.rod_length": "20.64 mm", "friction.ring_tension": "1",
        "friction.valve_train": '"direct"', "friction.roller": "false", "friction.cam_bearings": "10",
        "friction.oil_viscosity": "1", "friction.auxiliaries": "1", "friction.factor": "1",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("valves", "ratio", "train", "bearings"),
    [(1, 1.5, "pushrod", 5), (2, 1.5, "end-pivot", 20), (1, 1.0, "direct", 10), (2, 1.0, "direct", 20)],
)
def test_valve_train_and_its_bearings_are_assumed_from_rockers_and_valves(
    valves: int, ratio: float, train: str, bearings: int
) -> None:
    # A vee of eight has four throws: five bearings a camshaft.
    geometry = parse_engine(f"""
        [engine]
        cylinders = 8
        [intake_valves]
        count = {valves}
        [exhaust_valves]
        count = {valves}
        [intake_cam]
        rocker_ratio = {ratio}
        [friction]
        model = "components"
    """).friction.geometry
    assert geometry is not None
    assert (geometry.valvetrain, geometry.cam_bearings, geometry.main_bearings) == (train, bearings, 5)


def test_barnes_moss_does_not_count_pumping_twice() -> None:
    spec = parse_engine('[friction]\nmodel = "barnes-moss"\nfactor = 0.9\n')
    friction = friction_of(spec)
    for gross, pumping in ((12e5, -0.1e5), (12e5, -0.5e5), (12e5, 0.1e5)):
        # 3.67 bar at 6000 rpm (Heywood 1988, equation 13.6, from memory) hold pumping: brake is gross less that.
        assert gross + pumping - friction(70e5, pumping, 6000.0) == pytest.approx(gross - 0.9 * 3.67e5)
    assert friction(70e5, -5e5, 6000.0) == 0.0
    assert "does not follow a change of pumping" in friction_remark(spec.friction)
    assert friction_remark(parse_engine("").friction) == ""
