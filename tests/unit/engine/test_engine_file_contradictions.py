"""Parts of an engine file that contradict each other, or say less or more than is needed, are refused by key."""

from __future__ import annotations

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.errors import InputError

ONE = '[engine]\ncylinders = 1\nbore = "90 mm"\n'
FOUR = '[engine]\nbore = "86 mm"\n'
FREE = """[engine]
cylinders = 1
[[network.pipe]]
name = "a"
from = "port 1"
to = "open"
length = "300 mm"
diameter = "40 mm"
"""
INTO = 'lift = "2 4 6 8 mm"\ninto = "60 120 160 190 cfm"\n'
CONTRADICTIONS = {
    "first firing angle not 0": (
        FOUR + 'firing_angles = "90 180 270 450 deg"\n', ("engine.firing_angles", "first angle is not 0"),
    ),
    "throws of fewer cylinders": (
        FOUR + 'crank_throws = "0 180 deg"\n', ("engine.crank_throws", "4 numbers", "not 2"),
    ),
    "stem thicker than the throat": (
        FOUR + '[intake_valves]\nstem = "20 mm"\n', ("intake_valves.stem", "up to 17.48 mm"),
    ),
    "flow table without lifts": (
        FOUR + '[intake_port.flow]\ninto = "60 120 cfm"\n', ("intake_port.flow.lift", "missing"),
    ),
    "flow table without flows": (FOUR + '[intake_port.flow]\nlift = "2 4 6 mm"\n', ("flow.into", "no flows")),
    "flow table up to half of the lift": (
        FOUR + '[intake_port.flow]\nlift = "1 2 mm"\ninto = "30 60 cfm"\n', ("flow.lift", "half of the valve's lift"),
    ),
    "flow of more valves than there are": (
        FOUR + f"[intake_port.flow]\n{INTO}valves = 3\n", ("flow.valves", "has only 2", "1 to 2"),
    ),
    "valve lift and lobe lift": (
        FOUR + '[intake_cam]\nvalve_lift = "9 mm"\nlobe_lift = "6 mm"\n', ("intake_cam.valve_lift", "twice"),
    ),
    "measured lift and durations": (
        FOUR + '[intake_cam]\nopens = "20 deg"\ncloses = "50 deg"\nangles = "0 1 2 3 4 deg"\n',
        ("intake_cam.opens", "measured lift curve"),
    ),
    "measured lift of too few points": (
        FOUR + '[intake_cam]\nangles = "-90 0 90 deg"\nlifts = "0 9 0 mm"\n', ("intake_cam.lifts", "5 pairs"),
    ),
    "measured lift that stays open": (
        FOUR + '[intake_cam]\nangles = "-90 -50 0 50 90 deg"\nlifts = "3 5 9 5 3 mm"\n', ("lifts", "zero at both ends"),
    ),
    "events and a centreline": (
        FOUR + '[intake_cam]\nopens = "20 deg"\ncloses = "50 deg"\ncentreline = "110 deg"\n',
        ("intake_cam.centreline", "already"),
    ),
    "five durations": (
        FOUR + "[intake_cam]\ndurations = ["
        + ", ".join(f'{{ at = "{lift} mm", lasts = "{280 - 30 * lift} deg" }}' for lift in range(1, 6)) + "]\n",
        ("intake_cam.durations", "more than 4"),
    ),
    "lobe that cannot be ground": (
        FOUR + '[intake_cam]\ndurations = [{ at = "0.1 mm", lasts = "400 deg" }, { at = "1 mm", lasts = "99 deg" }]\n',
        ("engine.toml: intake_cam.durations",),
    ),
    "lash that eats the lift": (
        FOUR + '[intake_cam]\nlobe_lift = "2 mm"\nlash = "1.9 mm"\n', ("intake_cam.lash", "1.9 mm", "less than 1 mm"),
    ),
    "length and lengths": (
        FOUR + '[runners]\nlength = "300 mm"\nlengths = "300 300 300 300 mm"\n', ("runners.length", "twice"),
    ),
    "lengths of fewer runners": (FOUR + '[runners]\nlengths = "300 310 mm"\n', ("runners.lengths", "4 lengths")),
    "individual runners with a plenum": (
        FOUR + '[intake]\nlayout = "individual"\n[plenum]\nvolume = "3 L"\n', ("plenum", "no plenum"),
    ),
    "individual runners with one throttle": (
        FOUR + '[intake]\nlayout = "individual"\n[throttle]\ncount = 1\n', ("throttle.count", "one throttle"),
    ),
    "header of a cylinder that is not there": (
        FOUR + "[[header]]\ncylinders = [1, 2, 3, 4, 5]\n", ("header[1].cylinders", "no cylinder 5"),
    ),
    "headers without cylinders": (
        FOUR + "[[header]]\n[[header]]\n[[header]]\n", ("header[1].cylinders", "one of 3 headers"),
    ),
    "step without a diameter": (
        ONE + '[[header]]\nprimary = { step_at = "200 mm" }\n', ("primary.step_diameter", "belong together"),
    ),
    "step beyond the pipe": (
        ONE + '[[header]]\nprimary = { length = "400 mm", step_at = "500 mm", step_diameter = "45 mm" }\n',
        ("primary.step_at", "less than 400 mm"),
    ),
    "x of three systems": (
        '[engine]\ncylinders = 3\n[[header]]\nlayout = "individual"\n[exhaust]\njoined = "x"\nmiddle = {}\n',
        ("exhaust.joined", "there are 3"),
    ),
    "cross pipe of an x": (
        '[engine]\ncylinders = 8\n[exhaust]\njoined = "x"\nmiddle = {}\ncrossover = {}\n',
        ("exhaust.crossover", "only an h"),
    ),
    "porosity of a chamber": (
        ONE + '[[exhaust.silencer]]\nkind = "chamber"\nporosity = "20 %"\n', ("silencer[1].porosity", "has none"),
    ),
    "coefficient of another friction model": (
        ONE + '[friction]\nmodel = "barnes-moss"\nconstant = "0.4 bar"\n', ("friction.constant", "'barnes-moss'"),
    ),
    "shape and length": (
        FREE + 'at = "0 300 mm"\ndiameters = "40 50 mm"\n', ("network.pipe[1].length", "already"),
    ),
    "shape that does not begin at 0": (
        FREE.replace('length = "300 mm"\ndiameter = "40 mm"', 'at = "10 300 mm"\ndiameters = "40 50 mm"'),
        ("network.pipe[1].at", "the first 0"),
    ),
    "join of a pipe that is not there": (
        FREE + '[[network.join]]\nname = "m"\npipes = ["b end"]\n', ("network.join[1].pipes", "b end", "'a end'"),
    ),
    "exhaust that ends in a port": (
        FREE.replace('to = "open"', 'to = "port 1"'), ("network.pipe[1].to", "meets a port with its start"),
    ),
    "port of a cylinder that is not there": (
        FREE.replace('"port 1"', '"port 3"'), ("network.pipe[1].from", "no cylinder 3", "1 to 1"),
    ),
    "row without numbers": (ONE + '[mixture]\nlambda = "rich lambda"\n', ("mixture.lambda", "numbers with one unit")),
    "text where counts are needed": (ONE + '[[header]]\nlayout = "4-2-1"\ngroups = "1 4"\n', ("header[1]",)),
    "list where a number is needed": (ONE + '[runners]\nlength = ["300 mm"]\n', ("runners.length", "unit is needed")),
    "groups that are no lists": (
        FOUR + '[[header]]\nlayout = "4-2-1"\ngroups = "1 4 and 2 3"\n', ("header[1].groups", "[[1, 4], [2, 3]]"),
    ),
    "name that is missing": (FREE.replace('name = "a"\n', ""), ("network.pipe[1].name", "missing")),
}  # fmt: skip


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_a_contradiction_is_refused_in_one_sentence_that_names_the_key(name: str) -> None:
    text, expected = CONTRADICTIONS[name]
    with pytest.raises(InputError) as raised:
        build_network(parse_engine(text))
    said = str(raised.value)
    assert said.startswith("engine.toml: ")
    assert said.count(". ") == 0
    assert [part for part in expected if part not in said] == [], said
