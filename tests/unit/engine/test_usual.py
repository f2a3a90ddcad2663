"""Numbers and proportions out of the usual range are told with that range, and only those."""

from __future__ import annotations

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.engine_keys import KEYS
from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.usual import PROPORTIONS


def unusual(text: str) -> dict[str, tuple[str, str]]:
    return {one.key: (one.value, one.usual) for one in parse_engine(text).unusual}


def test_an_engine_of_assumed_numbers_is_usual() -> None:
    assert unusual("") == {}


def test_a_number_out_of_its_usual_range_is_told_with_the_range() -> None:
    assert unusual('[runners]\nlength = "900 mm"\n') == {"runners.length": ("900 mm", "50 to 600 mm")}


def test_the_end_of_a_usual_range_is_usual_in_other_units_too() -> None:
    assert unusual('[runners]\nlength = "0.6 m"\n') == {}
    assert "intake_cam.lash" not in unusual('[intake_cam]\nlash = "0.07 cm"\n')  # 0.7 mm but for the rounding
    assert unusual('[runners]\nlength = "60.01 cm"\n') == {"runners.length": ("600.1 mm", "50 to 600 mm")}


def test_a_number_in_a_row_is_told() -> None:
    text = '[mixture]\nspeed = "2000 6000 rpm"\nlambda = "0.88 1.1 lambda"\n'
    assert unusual(text) == {"mixture.lambda": ("1.1 lambda", "0.8 to 0.95 lambda")}


UNUSUAL_PROPORTIONS = {
    "stroke by bore": '[engine]\nbore = "80 mm"\nstroke = "112 mm"\n',
    "rod by stroke": '[engine]\nrod = "110 mm"\n',
    "mean piston speed": '[engine]\nhighest_speed = "9800 rpm"\n[intake_valves]\nhead = "40 mm"\n',
    "inlet Mach index": '[engine]\nhighest_speed = "8000 rpm"\n[intake_valves]\nhead = "28 mm"\n',
    "intake valves by bore": '[intake_valves]\nhead = "24 mm"\n',
    "exhaust valve by intake valve": '[exhaust_valves]\nhead = "32.5 mm"\n',
    "lobe separation": '[intake_cam]\ncentreline = "98 deg"\n[exhaust_cam]\ncentreline = "100 deg"\n',
    "overlap": '[intake_cam]\ndurations = [{ at = "0.15 mm", lasts = "330 deg" }]\n'
               '[exhaust_cam]\ndurations = [{ at = "0.15 mm", lasts = "340 deg" }]\n',
    "throat by head": '[intake_valves]\nhead = "34 mm"\nthroat = "25 mm"\n',
    "lift by head": '[intake_cam]\nvalve_lift = "15.5 mm"\n',
    "port by throat": '[intake_port]\ndiameter = "33 mm"\n',
    "discharge coefficient": '[intake_port.flow]\nlift = "2 4 6 8 mm"\ninto = "88 168 225 260 cfm"\n',
    "throttle by displacement": '[throttle]\ndiameter = "35 mm"\n',
    "plenum by displacement": '[engine]\ncylinders = 8\n[plenum]\nvolume = "1.2 L"\n',
    "runner by port": '[runners]\ndiameter = "58 mm"\n',
    "primary by port": '[[header]]\nprimary = { diameter = "51 mm" }\n',
    "collector by primary": '[[header]]\ncollector = { diameter = "41 mm" }\n',
    "secondary by primary": '[[header]]\nlayout = "4-2-1"\nsecondary = { diameter = "62 mm" }\n',
    "shortest by longest primary": '[[header]]\nprimary = { lengths = "700 720 710 500 mm" }\n',
}  # fmt: skip


@pytest.mark.parametrize("name", PROPORTIONS)
def test_an_unusual_proportion_of_usual_numbers_is_told(name: str) -> None:
    found = unusual(UNUSUAL_PROPORTIONS[name])
    told = [key for key in found if key.endswith(f": {name}")]
    assert told, found
    low, high, unit, _ = PROPORTIONS[name]
    assert found[told[0]][1] == f"{low:g} to {high:g} {unit}".strip()


def test_a_flow_that_only_one_lift_cannot_have_is_told_with_that_lift() -> None:
    # Two valves of 33.11 mm at 2 mm have a curtain of 2 x pi x 33.11 x 2 mm2 = 0.6449 in2, through which 147.13 cfm/in2
    # would pass without any loss at 28 in of water (incompressible, the trade's figure): 94.89 cfm; 88 are 0.927 of it.
    found = unusual('[intake_port.flow]\nlift = "2 4 6 8 mm"\ninto = "88 129 177 205 cfm"\n')
    assert {key: value for key, (value, _) in found.items()} == {
        "intake_port.flow.into at 2 mm: discharge coefficient": "0.927"
    }


def test_mach_index_is_that_of_the_handbook() -> None:
    # Worked example of Taylor's index: 101.6 mm, one valve of 51.3 mm, 19.15 m/s (88.4 mm at 6499 rpm), Ci 0.35,
    # 343 m/s: 0.62569.
    found = unusual("""
        [engine]
        bore = "101.6 mm"
        stroke = "88.4 mm"
        highest_speed = "6499 rpm"
        [intake_valves]
        count = 1
        head = "51.3 mm"
    """)
    assert found["intake_valves: inlet Mach index"] == ("0.626", "0.25 to 0.6")


def test_mean_piston_speed_is_two_strokes_a_turn() -> None:
    assert mean_piston_speed(0.100, 6000.0) == pytest.approx(20.0)


def test_every_default_is_inside_its_possible_and_its_usual_range() -> None:
    for table, keys in KEYS.items():
        for key in keys:
            if isinstance(key.default, int | float) and not isinstance(key.default, bool):
                for ends in (key.possible, key.usual):
                    assert ends is None or ends[0] <= key.default <= ends[1], f"{table}.{key.name}"


def test_every_usual_range_lies_inside_the_possible_one() -> None:
    for table, keys in KEYS.items():
        for key in keys:
            if key.usual is not None:
                assert key.possible is not None, f"{table}.{key.name}"
                assert key.possible[0] <= key.usual[0] < key.usual[1] + 1e-12, f"{table}.{key.name}"
                assert key.usual[1] <= key.possible[1], f"{table}.{key.name}"
