"""Which dimension has to be known how well: what a likely error in each does to torque, and to a difference.

``python tests/dimension_study.py`` prints the table of docs/how-to/describe-your-engine.md.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Final

import numpy as np
from repo.pages import change_lines

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.simulate import RunPlan, simulate_curve
from pullbook.engine.templates import template_text

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray


SPEEDS: Final = tuple(float(rpm) for rpm in range(2500, 6501, 500))
PLAN: Final = RunPlan(cell_size=0.020, estimate_grid_error=False, threads=2)
LONG: Final = 640.0  # mm
SHORT: Final = 440.0  # mm
PRIMARY: Final = '[[header]]\nprimary = {{ length = "{length:g} mm", diameter = "{bore:g} mm", bend_loss = 0.35 }}\n'
ERRORS: Final = {
    "primaries 20 mm longer": "",
    "primaries 1 mm wider": "",
    "collector 50 mm longer": '[[header]]\ncollector = { length = "400 mm", diameter = "57 mm" }',
    "silencer 200 mm farther back": '[exhaust]\nfront = { length = "1100 mm", diameter = "60 mm", bend_loss = 0.3 }\n'
    'tailpipe = { length = "500 mm", diameter = "60 mm", bend_loss = 0.2 }',
    "walls of the primaries 100 K hotter": '[walls]\nprimary = "650 degC"',
    "intake cam 2° early": '[intake_cam]\nadvance = "2 deg"',
    "exhaust cam 2° early": '[exhaust_cam]\nadvance = "2 deg"',
    "intake valves lift 0.3 mm more": '[intake_cam]\nvalve_lift = "9.1 mm"',
    "exhaust lash 0.1 mm more": '[exhaust_cam]\nlash = "0.4 mm"',
    "intake ports flow 3 % more": '[intake_port.flow]\ninto = "69 133 182 211 224 cfm"',
    "compression 11.3, not 11.0": "[engine]\ncompression_ratio = 11.3",
    "runners 10 mm longer": '[runners]\nlength = "310 mm"',
    "plenum 0.5 L larger": '[plenum]\nvolume = "5.5 L"',
}


def torque(length: float, name: str = "") -> FloatArray:
    """Torque with primaries of a length and one dimension changed. [N m]"""
    longer = 20.0 if name == "primaries 20 mm longer" else 0.0
    bore = 41.0 if name == "primaries 1 mm wider" else 40.0
    changes = PRIMARY.format(length=length + longer, bore=bore) + ERRORS.get(name, "")
    curve = simulate_curve(parse_engine(change_lines(template_text("inline-four"), changes)), SPEEDS, PLAN)
    assert not curve.failures
    return np.array([point.torque for point in curve.points])


def largest(values: FloatArray) -> str:
    """Largest value, and where it is."""
    place = int(np.abs(values).argmax())
    return f"{values[place]:+.1f} at {SPEEDS[place]:.0f}"


def main() -> None:
    """Print the table."""
    write = sys.stdout.write
    long, short = torque(LONG), torque(SHORT)
    write(f"gain of {SHORT:g} mm over {LONG:g} mm: {np.round(short - long, 1).tolist()} N m\n\n")
    write("| what is in truth | torque moves most by, N m at rpm | on average, N m | the gain moves most by |\n")
    write("| --- | --- | --- | --- |\n")
    for name in ERRORS:
        moved = torque(LONG, name) - long
        gain = torque(SHORT, name) - short - moved
        write(f"| {name} | {largest(moved)} | {np.abs(moved).mean():.1f} | {largest(gain)} |\n")


if __name__ == "__main__":
    main()
