"""engine.toml: what is read from it, and what is assumed."""

from __future__ import annotations

import math

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network

FOUR = """
[engine]
bore = "86 mm"
stroke = "94.6 mm"
rod = "150 mm"
compression_ratio = 11.0
firing_order = [1, 3, 4, 2]
[intake_valves]
head = "34.5 mm"
"""


def test_every_key_may_be_absent_and_is_then_listed_with_value_and_reason() -> None:
    spec = parse_engine("")
    assumed = {one.key: one for one in spec.assumed}
    assert assumed["engine.bore"].value == "86 mm"
    assert assumed["runners.length"].value == "300 mm"
    assert assumed["engine.rod"].value == "141.9 mm"  # 1.65 x 86 mm
    assert assumed["engine.rod"].why == "1.65 times the stroke"
    assert all(one.value and one.why for one in spec.assumed)
    assert len(assumed) == len(spec.assumed)


def test_what_is_declared_is_not_listed_as_assumed() -> None:
    keys = {one.key for one in parse_engine(FOUR).assumed}
    declared = {"bore", "stroke", "rod", "compression_ratio", "firing_order"}
    assert keys & {f"engine.{key}" for key in declared} == set()


def test_quantities_are_read_in_any_unit_of_their_kind() -> None:
    inches = FOUR.replace('"86 mm"', '"3.386 in"').replace('"94.6 mm"', '"0.0946 m"')
    block = parse_engine(inches).block
    assert block.bore == pytest.approx(0.0860044, rel=1e-9)  # 3.386 x 25.4 mm
    # pi / 4 x 0.0860044^2 x 0.0946 x 4, by hand
    assert block.displacement == pytest.approx(4 * math.pi / 4 * 0.0860044**2 * 0.0946, rel=1e-12)


def test_a_row_has_one_unit_at_its_end() -> None:
    text = FOUR + '[mixture]\nspeed = "2, 4, 6 krpm"\nlambda = "13.2 12.9 12.6 AFR"\n'
    mixture = parse_engine(text).fuel.mixture
    assert mixture.speed_rpm == (2000.0, 4000.0, 6000.0)
    assert mixture.at(3000.0) == pytest.approx((13.2 + 12.9) / 2 / 14.7)  # straight between the points
    assert mixture.at(9000.0) == pytest.approx(12.6 / 14.7)  # level beyond them


CARDS = [  # cam-card arithmetic for symmetric lobes: Di, De, LSA, ICL -> ECL
    (280.0, 280.0, 110.0, 106.0, 114.0),
    (268.0, 276.0, 110.0, 106.0, 114.0),
    (292.0, 300.0, 108.0, 104.0, 112.0),
]


@pytest.mark.parametrize(("intake", "exhaust", "separation", "centre", "other"), CARDS)
def test_exhaust_centreline_follows_from_separation_and_intake_centreline(
    intake: float, exhaust: float, separation: float, centre: float, other: float
) -> None:
    cams = f"""
    [camshaft]
    lobe_separation = "{separation} deg"
    intake_centreline = "{centre} deg"
    [intake_cam]
    durations = [{{ at = "0.15 mm", lasts = "{intake} deg" }}]
    [exhaust_cam]
    durations = [{{ at = "0.15 mm", lasts = "{exhaust} deg" }}]
    """
    spec = parse_engine(FOUR + cams)
    assert spec.intake_side.cam.centreline_deg == pytest.approx(centre)
    assert spec.exhaust_side.cam.centreline_deg == pytest.approx(other)


def test_opening_and_closing_give_duration_and_centreline() -> None:
    # Cam card IVO 12, IVC 40, EVO 50, EVC 8: durations 232 and 238, ICL 104, ECL 111.
    text = (
        FOUR + '[intake_cam]\nopens = "12 deg"\ncloses = "40 deg"\n[exhaust_cam]\nopens = "50 deg"\ncloses = "8 deg"\n'
    )
    spec = parse_engine(text)
    assert spec.intake_side.cam.durations[0].lasts_deg == pytest.approx(232.0)
    assert spec.exhaust_side.cam.durations[0].lasts_deg == pytest.approx(238.0)
    assert spec.intake_side.cam.centreline_deg == pytest.approx(104.0)
    assert spec.exhaust_side.cam.centreline_deg == pytest.approx(111.0)


@pytest.mark.parametrize(("side", "set_"), [("intake", 0), ("exhaust", 1)])
def test_advance_moves_opening_and_closing_earlier_by_as_many_degrees(side: str, set_: int) -> None:
    straight = build_network(parse_engine(FOUR)).cylinders[0].valve_sets[set_]
    advanced = build_network(parse_engine(FOUR + f'[{side}_cam]\nadvance = "4 deg"\n')).cylinders[0].valve_sets[set_]
    assert straight.opens_deg - advanced.opens_deg == pytest.approx(4.0)
    assert straight.closes_deg - advanced.closes_deg == pytest.approx(4.0)


def test_valve_lift_is_lobe_lift_times_rocker_ratio_less_lash() -> None:
    # The trade's example: 0.320 in x 1.5 = 0.480 in; with 0.020 in of lash 0.460 in.
    cam = '[intake_cam]\nlobe_lift = "0.320 in"\nrocker_ratio = 1.5\nlash = "0.020 in"\n'
    spec = parse_engine(FOUR + cam)
    assert spec.intake_side.cam.valve_lift == pytest.approx(0.460 * 0.0254)
    table = build_network(spec).cylinders[0].valve_sets[0]
    assert table.lift.max() == pytest.approx(0.460 * 0.0254, rel=1e-6)


def test_lash_shortens_the_time_that_a_valve_is_open() -> None:
    tight, loose = (
        build_network(parse_engine(FOUR + f'[intake_cam]\nlash = "{lash} mm"\n')).cylinders[0].valve_sets[0]
        for lash in (0.0, 0.3)
    )
    assert loose.closes_deg - loose.opens_deg < tight.closes_deg - tight.opens_deg - 5.0


def test_measured_lift_at_the_valve_is_taken_as_it_is() -> None:
    angles = " ".join(str(angle) for angle in range(-120, 121, 20))
    lifts = [8.0 * math.cos(math.radians(angle * 0.75)) ** 2 for angle in range(-120, 121, 20)]
    row = " ".join(f"{lift:.4f}" for lift in lifts)
    spec = parse_engine(FOUR + f'[intake_cam]\nangles = "{angles} deg"\nlifts = "{row} mm"\ncentreline = "105 deg"\n')
    table = build_network(spec).cylinders[0].valve_sets[0]
    assert table.lift.max() == pytest.approx(8e-3, rel=1e-6)
    # Own angle 360 is top dead centre of overlap, so the nose is at 465 degrees; 2 points to a degree.
    assert int(table.lift.argmax()) == 2 * 465
    assert table.lift[2 * (465 + 40)] == pytest.approx(8e-3 * math.cos(math.radians(30.0)) ** 2, rel=1e-6)


def test_a_flow_bench_table_gives_the_area_that_passes_the_measured_flow() -> None:
    # Bench of 28 in of water, 20 degC, 101.325 kPa: a coefficient of 1 passes 141.60 cfm through a square inch
    # (compressible; the trade's figure, computed from the isentropic orifice). 177 cfm at 6 mm of lift:
    rows = 'lift = "2 4 6 8 10 mm"\ninto = "67 129 177 205 217 cfm"\nout_of = "60 116 159 184 195 cfm"\n'
    flow = f"[intake_port.flow]\n{rows}"
    valve_set = build_network(parse_engine(FOUR + flow)).cylinders[0].valve_sets[0]
    lift_up = valve_set.lift[: int(valve_set.lift.argmax())]
    near = int(abs(lift_up - 6e-3).argmin())
    scale = lift_up[near] / 6e-3  # the table has no point at just 6 mm
    square_inch = 0.0254**2
    assert valve_set.area_in[near] / square_inch == pytest.approx(177 / 141.60 * scale, rel=0.01)
    assert valve_set.area_out[near] / valve_set.area_in[near] == pytest.approx(159 / 177, rel=0.003)
