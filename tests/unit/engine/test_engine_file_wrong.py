"""What is wrong in an engine file is told in one sentence with key, value and what is allowed."""

from __future__ import annotations

import pytest
from engines import FREE

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.errors import EngineFileError, InputError, OutOfRangeError, UnitError

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


def refused(text: str) -> str:
    """What is said about a file, by the parser or by the network that it makes."""
    with pytest.raises(InputError) as raised:
        build_network(parse_engine(text))
    assert raised.value.exit_status == 2
    said = str(raised.value)
    assert said.startswith("engine.toml")
    assert "\n" not in said
    return said


WRONG = {
    "unknown table": (FOUR + "[exhuast]\n", ("exhuast", "perhaps 'exhaust' is meant")),
    "unknown key": (FOUR.replace("stroke", "strok"), ("engine.strok", "perhaps 'stroke' is meant")),
    "unknown key below": (
        FOUR + '[[header]]\nprimary = { lenght = "700 mm" }\n', ("header[1].primary.lenght", "'length'"),
    ),
    "unit missing": (FOUR.replace('"86 mm"', '"86"'), ("engine.bore", "unit is missing", "86")),
    "bare number": (FOUR.replace('"86 mm"', "86"), ("engine.bore", "unit is missing", "86")),
    "unit of another dimension": (FOUR.replace('"86 mm"', '"86 kg"'), ("engine.bore", "kg", "length")),
    "unit where none is": (FOUR.replace("11.0", '"11 mm"'), ("compression_ratio", "plain number")),
    "unit missing in a row": (
        FOUR + '[mixture]\nspeed = "2000 6000"\nlambda = "0.9 0.86 lambda"\n', ("mixture.speed", "unit is missing"),
    ),
    "negative length": (
        FOUR + '[runners]\nlength = "-300 mm"\n', ("runners.length", "-300 mm", "only 1 to 20000 mm is possible"),
    ),
    "length of nothing": (FOUR + '[runners]\nlength = "0 mm"\n', ("runners.length", "only 1 to 20000 mm")),
    "not a number": (FOUR.replace("11.0", "nan"), ("compression_ratio", "not finite")),
    "beyond what is possible": (FOUR.replace("11.0", "35"), ("compression_ratio", "35", "only 3 to 25 is possible")),
    "valve larger than the bore": (
        FOUR.replace('"34.5 mm"', '"90 mm"'), ("intake_valves.head", "90 mm", "only up to 43 mm", "bore of 86 mm"),
    ),
    "single valve larger than the bore": (
        FOUR.replace('"34.5 mm"', '"90 mm"\ncount = 1'), ("intake_valves.head", "90 mm", "only up to 64.5 mm"),
    ),
    "throat larger than the valve": (
        FOUR.replace('"34.5 mm"', '"34.5 mm"\nthroat = "36 mm"'), ("intake_valves.throat", "36 mm", "34.5 mm"),
    ),
    "rod shorter than the throw": (FOUR.replace('"150 mm"', '"50 mm"'), ("engine.rod", "more than 52.03 mm")),
    "cylinder missing in the firing order": (
        FOUR.replace("[1, 3, 4, 2]", "[1, 3, 4]\ncylinders = 4"), ("firing_order", "cylinder 2 never fires", "1 to 4"),
    ),
    "cylinder twice in the firing order": (
        FOUR.replace("[1, 3, 4, 2]", "[1, 3, 3, 2]"), ("firing_order", "cylinder 3 fires twice", "[1, 3, 3, 2]"),
    ),
    "cylinder that is not there": (
        FOUR.replace("[1, 3, 4, 2]", "[1, 3, 5, 2]"), ("firing_order", "cylinder 5 is not on the engine"),
    ),
    "no usual firing order": ("[engine]\ncylinders = 7\n", ("firing_order", "7 cylinders")),
    "banks of fewer cylinders": (FOUR.replace("bore", 'banks = ["a", "b"]\nbore', 1), ("engine.banks", "4 banks")),
    "firing angles of fewer cylinders": (
        FOUR.replace("bore", 'firing_angles = "0 180 360 deg"\nbore', 1), ("firing_angles", "4 angles"),
    ),
    "cam that opens after it closes": (
        FOUR + '[intake_cam]\nopens = "-80 deg"\ncloses = "-120 deg"\n',
        ("intake_cam.closes", "opens after it closes", "-120 deg", "20 to 460 deg"),
    ),
    "durations that grow with lift": (
        FOUR + '[intake_cam]\ndurations = [{ at = "0.2 mm", lasts = "220 deg" }, { at = "1 mm", lasts = "260 deg" }]',
        ("intake_cam.durations", "open after it closes", "260 deg", "less than 220 deg"),
    ),
    "measured lift that runs backwards": (
        FOUR + '[intake_cam]\nangles = "100 50 0 -50 -100 deg"\nlifts = "0 4 9 4 0 mm"\n',
        ("intake_cam.angles", "opens after it closes"),
    ),
    "duration longer than a cam can be": (
        FOUR + '[intake_cam]\ndurations = [{ at = "1 mm", lasts = "470 deg" }]', ("lasts", "470 deg", "20 to 460 deg"),
    ),
    "opening without closing": (FOUR + '[exhaust_cam]\nopens = "50 deg"\n', ("exhaust_cam.closes", "belong together")),
    "lift larger than the valve allows": (
        FOUR + '[intake_cam]\nvalve_lift = "25 mm"\n', ("intake_cam.valve_lift", "25 mm", "0 to 20.7 mm"),
    ),
    "flow table with a hole": (
        FOUR + '[intake_port.flow]\nlift = "2 4 6 8 mm"\ninto = "60 120 160 cfm"\n', ("flow.into", "4 flows", "not 3"),
    ),
    "flow that no port can have": (
        FOUR + '[intake_port.flow]\nlift = "2 4 6 8 mm"\ninto = "160 320 460 600 cfm"\n',
        ("intake_port.flow", "cannot be"),
    ),
    "layout for other cylinders": (FOUR + '[[header]]\nlayout = "6-1"\n', ("header[1].layout", "6 cylinders", "has 4")),
    "unknown layout": (FOUR + '[[header]]\nlayout = "4-3-1"\n', ("header[1].layout", "4-3-1")),
    "cylinder on two headers": (
        FOUR + "[[header]]\ncylinders = [1, 2, 3]\n[[header]]\ncylinders = [3, 4]\n",
        ("header[1].cylinders", "cylinder 3 is joined to 2 headers"),
    ),
    "cylinder on no header": (
        FOUR + "[[header]]\ncylinders = [1, 2]\n[[header]]\ncylinders = [4]\n", ("cylinder 3 is joined to no header",),
    ),
    "groups of the wrong cylinders": (
        FOUR + '[[header]]\nlayout = "4-2-1"\ngroups = [[1, 4], [2, 2]]\n', ("header[1].groups", "2 groups of 2"),
    ),
    "part that the layout has not": (
        FOUR + '[[header]]\nlayout = "4-1"\nsecondary = { length = "400 mm" }\n', ("secondary", "'4-1' has none"),
    ),
    "crossing of one system": (FOUR + '[exhaust]\njoined = "x"\n', ("exhaust.joined", "nothing to join")),
    "tube wider than its shell": (
        FOUR + '[[exhaust.silencer]]\ndiameter = "60 mm"\nshell = "50 mm"\n', ("exhaust.silencer[1].shell", "60 mm"),
    ),
    "spark for another mode": (FOUR + '[spark]\nmode = "held"\nca50 = "8 deg"\n', ("spark.ca50", 'mode = "ca50"')),
    "speeds that do not rise": (
        FOUR + '[mixture]\nspeed = "6000 2000 rpm"\nlambda = "0.9 0.86 lambda"\n', ("mixture.speed", "must rise"),
    ),
    "more mixtures than speeds": (
        FOUR + '[mixture]\nspeed = "2000 6000 rpm"\nlambda = "0.9 0.88 0.86 lambda"\n', ("mixture.lambda", "3 numbers"),
    ),
    "pipe end joined to nothing": (
        FREE.replace('to = "open"\n', ""), ("network.pipe[2].to", "'tail' is joined to nothing"),
    ),
    "pipe end joined twice": (
        FREE + 'pipes = ["tail end"]\n', ("network.join[1].pipes", "joined twice", "'open'", "'merge'"),
    ),
    "pipe end joined to something unknown": (
        FREE.replace('to = "merge"', 'to = "murge"'), ("network.pipe[1].to", "murge", "perhaps 'merge' is meant"),
    ),
    "join of one pipe": (
        FREE.replace('from = "merge"', 'from = "closed"'), ("merge", "two pipes or more", "1"),
    ),
    "port joined to two pipes": (
        FREE.replace('from = "merge"', 'from = "port 1"').replace('to = "merge"', 'to = "closed"')
        .replace('[[network.join]]\nname = "merge"\n', ""),
        ("cylinder 1", "2 pipes"),
    ),
    "network without an open end": (
        FREE.replace('"open"', '"closed"'),
        ("network.pipe", "no pipe of the exhaust is open", "'primary, tail'", '"open"'),
    ),
    "two pipes of one name": (FREE.replace('"tail"', '"primary"'), ("network.pipe.name", "'primary' is given twice")),
    "exhaust declared twice": (FREE + '[[header]]\nlayout = "individual"\n', ("header", "exhaust is declared twice")),
    "not TOML": ("[engine\nbore = 1\n", ("engine.toml: line 1",)),
}  # fmt: skip


IDLE = {
    "engine.cylinder_angles": FOUR.replace("bore", 'cylinder_angles = "0 0 0 0 deg"\nbore', 1),
    "camshaft.lobe_separation": FOUR + '[camshaft]\nlobe_separation = "108 deg"\n[intake_cam]\ncentreline = "108 deg"\n'
    '[exhaust_cam]\ncentreline = "110 deg"\n',
    "intake_cam.events_at": FOUR + '[intake_cam]\nevents_at = "1 mm"\n',
    "intake_cam.lifts_at": FOUR + '[intake_cam]\nlifts_at = "lobe"\n',
    "mixture.speed": FOUR + '[mixture]\nspeed = "2000 6000 rpm"\nlambda = "0.88 lambda"\n',
    "spark.speed": FOUR + '[spark]\nmode = "best"\nspeed = "2000 6000 rpm"\n',
    "exhaust.silencer[1].resistivity": FOUR + '[[exhaust.silencer]]\npacked = false\nresistivity = "9 kPa s/m^2"\n',
}  # fmt: skip


@pytest.mark.parametrize("key", IDLE)
def test_a_key_that_would_have_no_effect_is_refused(key: str) -> None:
    said = refused(IDLE[key])
    assert key in said
    assert "no effect" in said


@pytest.mark.parametrize("name", WRONG)
def test_wrong_file_gets_one_sentence_with_key_value_and_range(name: str) -> None:
    text, expected = WRONG[name]
    said = refused(text)
    assert [part for part in expected if part not in said] == [], said


def test_class_of_the_error_says_what_kind_of_mistake_it_is() -> None:
    for name, kind in (
        ("unknown key", EngineFileError),
        ("unit missing", UnitError),
        ("valve larger than the bore", OutOfRangeError),
        ("negative length", OutOfRangeError),
    ):
        with pytest.raises(kind):
            parse_engine(WRONG[name][0])
