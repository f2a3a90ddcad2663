"""Every layout that can be declared runs, closes its balances, and changes the engine the way it should."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.simulate import RunPlan, simulate_speed

if TYPE_CHECKING:
    from pullbook.records.simulation import RunPoint

COARSE = RunPlan(cell_size=0.040, estimate_grid_error=False, threads=1)
TWIN = '[engine]\ncylinders = 2\nfiring_angles = "0 360 deg"\n'
FOUR = '[engine]\nbore = "80 mm"\nstroke = "80 mm"\n'
SILENCER = '[[exhaust.silencer]]\nlength = "400 mm"\n'
LAYOUTS = {
    "2-1": TWIN,
    "individual": TWIN + '[intake]\nlayout = "individual"\n[[header]]\nlayout = "individual"\nmegaphone = '
    '{ length = "300 mm", end_diameter = "80 mm" }\n',
    "log": TWIN + '[[header]]\nlayout = "log"\nprimary = { length = "150 mm" }\n',
    "4-2-1": FOUR + '[[header]]\nlayout = "4-2-1"\n',
    "two headers": FOUR + "[[header]]\ncylinders = [1, 4]\n[[header]]\ncylinders = [2, 3]\n"
    '[exhaust]\njoined = "x"\nmiddle = { length = "300 mm" }\n',
    "h": TWIN + '[[header]]\nlayout = "individual"\n[exhaust]\njoined = "h"\nmiddle = { length = "300 mm" }\n',
    "y": TWIN + '[[header]]\nlayout = "individual"\n[exhaust]\njoined = "y"\nmiddle = { length = "300 mm" }\n',
    "air box": TWIN + '[air_box]\nvolume = "4 L"\n',
    "packed": TWIN + SILENCER,
    "unpacked": TWIN + SILENCER + "packed = false\n",
    "chamber": TWIN + SILENCER + 'kind = "chamber"\n',
    "reversed": TWIN + SILENCER + 'kind = "reversed"\n',
    "pressure joins": FOUR + '[[header]]\nlayout = "4-2-1"\n[exhaust]\njoin_model = "pressure"\n',
    "stagnation joins": FOUR + '[[header]]\nlayout = "4-2-1"\n[exhaust]\njoin_model = "stagnation"\n',
    "part throttle": TWIN + '[throttle]\nopening = "5 %"\n',
    "individual part throttles": TWIN + '[intake]\nlayout = "individual"\n[throttle]\nopening = "5 %"\n',
    "free": TWIN + '[[network.pipe]]\nname = "a"\nfrom = "cylinder 1"\nto = "pot"\nlength = "500 mm"\n'
    'diameter = "36 mm"\n'
    '[[network.pipe]]\nname = "b"\nfrom = "port 2"\nto = "pot"\nlength = "450 mm"\ndiameter = "36 mm"\n'
    '[[network.pipe]]\nname = "side"\nfrom = "pot"\nto = "volume box"\nlength = "200 mm"\ndiameter = "30 mm"\n'
    '[[network.pipe]]\nname = "tail"\nfrom = "pot"\nto = "open"\nat = "0 300 600 mm"\ndiameters = "45 45 60 mm"\n'
    '[[network.volume]]\nname = "box"\nvolume = "1 L"\n[[network.join]]\nname = "pot"\n',
}  # fmt: skip


@cache
def point(text: str, speed_rpm: float = 4000.0) -> RunPoint:
    spec = parse_engine(text)
    return simulate_speed(spec, build_network(spec), speed_rpm, COARSE)[0]


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_layout_runs_and_closes_its_balances(name: str) -> None:
    found = point(LAYOUTS[name])
    assert found.quality.converged, found.quality.reason
    assert found.quality.mass_error < 1e-12
    assert found.quality.energy_error < 1e-12
    # Widest limits of naturally aspirated petrol engines at full throttle; less at a closed throttle.
    assert (0.55 if "part" not in name else 0.1) < found.volumetric_efficiency < 1.25


# The piston draws against the plenum's vacuum. A runner behind its own throttle fills up again while its valve is shut,
# so that little is left to draw against: the known advantage of individual throttles at part load.
@pytest.mark.parametrize(("name", "lost"), [("part throttle", 0.15e5), ("individual part throttles", 0.01e5)])
def test_a_closed_throttle_takes_air_and_costs_pumping_work(name: str, lost: float) -> None:
    part, wide = point(LAYOUTS[name]), point(LAYOUTS[name].replace('opening = "5 %"', 'opening = "100 %"'))
    assert part.volumetric_efficiency < 0.6 * wide.volumetric_efficiency
    assert part.pmep < wide.pmep - lost


SHORTHAND = """
[engine]
cylinders = 1
bore = "90 mm"
[[header]]
primary = { length = "600 mm", diameter = "40 mm", bend_loss = 0.3 }
[exhaust]
tailpipe = { length = "300 mm", diameter = "50 mm", end_diameter = "50 mm", bend_loss = 0.1 }
[walls]
primary = "500 degC"
tailpipe = "300 degC"
"""
DECLARED = """
[engine]
cylinders = 1
bore = "90 mm"
[[network.pipe]]
name = "pipe"
group = "primary"
from = "port 1"
to = "step"
to_angle = "0 deg"
length = "600 mm"
diameter = "40 mm"
bend_loss = 0.3
wall = "500 degC"
[[network.pipe]]
name = "tail"
group = "tailpipe"
from = "step"
to = "open"
length = "300 mm"
diameter = "50 mm"
end_diameter = "50 mm"
bend_loss = 0.1
wall = "300 degC"
[[network.join]]
name = "step"
"""


def test_the_same_pipes_by_shorthand_and_free_give_the_same_torque() -> None:
    # 40 to 50 mm is a large step: a join of two in the shorthand too, where gas goes straight on.
    one, other = point(SHORTHAND), point(DECLARED)
    assert other.torque == pytest.approx(one.torque, rel=1e-12)
    assert other.exhaust_pressure == pytest.approx(one.exhaust_pressure, rel=1e-12)


def test_inches_and_millimetres_give_the_same_torque() -> None:
    inches = TWIN.replace("[engine]\n", '[engine]\nbore = "3.5 in"\nstroke = "3.25 in"\n')
    metric = TWIN.replace("[engine]\n", '[engine]\nbore = "88.9 mm"\nstroke = "82.55 mm"\n')
    assert point(inches).torque == pytest.approx(point(metric).torque, rel=1e-7)


ONE = '[engine]\ncylinders = 1\n[walls]\npipe = "550 degC"\ntailpipe = "550 degC"\n'
POT = 'length = "300 mm"\ndiameter = "45 mm"\nshell = "120 mm"\n'


@pytest.mark.parametrize("kind", ["straight-through", "chamber", "reversed"])
def test_a_silencer_of_a_free_network_works_as_that_of_the_shorthand(kind: str) -> None:
    short = point(
        ONE + '[[header]]\nprimary = { length = "700 mm", diameter = "45 mm", bend_loss = 0.0 }\n'
        f'[[exhaust.silencer]]\nkind = "{kind}"\n{POT}'
        '[exhaust.tailpipe]\nlength = "200 mm"\ndiameter = "45 mm"\nbend_loss = 0.0\n'
    )
    free = point(
        ONE + '[[network.pipe]]\nname = "a"\nfrom = "port 1"\nto = "silencer pot"\nlength = "700 mm"\n'
        'diameter = "45 mm"\n[[network.pipe]]\nname = "b"\nfrom = "silencer pot"\nto = "open"\nlength = "200 mm"\n'
        f'diameter = "45 mm"\n[[network.silencer]]\nname = "pot"\nkind = "{kind}"\n{POT}'
    )
    # They differ by where cells begin and end.
    assert free.torque == pytest.approx(short.torque, rel=5e-3)
    without = point(ONE + '[[header]]\nprimary = { length = "1200 mm", diameter = "45 mm", bend_loss = 0.0 }\n')
    assert abs(without.torque / short.torque - 1.0) > 5e-3


def test_the_model_of_the_joins_changes_torque_by_little_but_changes_it() -> None:
    mixing, pressure, stagnation = (
        point(LAYOUTS[name]).torque for name in ("4-2-1", "pressure joins", "stagnation joins")
    )
    for other in (pressure, stagnation):
        assert 1e-4 < abs(other / mixing - 1.0) < 0.05
    assert pressure != stagnation
