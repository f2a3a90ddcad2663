"""The invented engine of the demo: one engine file of the virtual engine for each build.

It is the inline four that `pullbook engine new --like inline-four` writes, with other runners, headers and timing of
the inlet camshaft. What these do to torque was computed by the virtual engine (`pullbook.bench.demo_curves`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from pullbook.engine.templates import template_text

__all__ = ["SETUPS", "Header", "Setup", "engine_file"]

_TEMPLATE: Final = "inline-four"


class Header(StrEnum):
    """Exhaust header."""

    FOUR_ONE = "4-1"
    FOUR_TWO_ONE = "4-2-1"


_HEADERS: Final = {
    Header.FOUR_ONE: """\
[[header]]
cylinders = [1, 2, 3, 4]
layout = "4-1"
primary = { length = "640 mm", diameter = "40 mm", bend_loss = 0.35 }
merge = { length = "110 mm", outlet = "57 mm", angle = "10 deg", model = "mixing" }
collector = { length = "350 mm", diameter = "57 mm", end_diameter = "57 mm", bend_loss = 0.0 }

""",
    Header.FOUR_TWO_ONE: """\
[[header]]
cylinders = [1, 2, 3, 4]
layout = "4-2-1"
groups = [[1, 4], [2, 3]]
primary = { length = "420 mm", diameter = "38 mm", bend_loss = 0.30 }
secondary = { length = "640 mm", diameter = "46 mm", end_diameter = "46 mm", bend_loss = 0.15 }
merge = { length = "110 mm", outlet = "57 mm", angle = "10 deg", model = "mixing" }
collector = { length = "350 mm", diameter = "57 mm", end_diameter = "57 mm", bend_loss = 0.0 }

""",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """Parts on the invented engine.

    Attributes
    ----------
    runner_length : float
        Length of the intake runners, without the port. [m]
    header : Header
        Exhaust header.
    inlet_advance_deg : float
        Advance of the inlet camshaft from straight up. [deg]
    """

    runner_length: float
    header: Header
    inlet_advance_deg: float


SETUPS: Final = {
    "A": Setup(runner_length=0.420, header=Header.FOUR_ONE, inlet_advance_deg=0.0),
    "B": Setup(runner_length=0.260, header=Header.FOUR_ONE, inlet_advance_deg=0.0),
    "C": Setup(runner_length=0.260, header=Header.FOUR_TWO_ONE, inlet_advance_deg=0.0),
    "D": Setup(runner_length=0.420, header=Header.FOUR_TWO_ONE, inlet_advance_deg=0.0),
    "E": Setup(runner_length=0.420, header=Header.FOUR_TWO_ONE, inlet_advance_deg=4.0),
}


def engine_file(build: str) -> str:
    """Engine file of a build, complete and with remarks.

    Parameters
    ----------
    build : str
        One of `SETUPS`.

    Returns
    -------
    text : str
        TOML that `pullbook simulate` runs.

    Examples
    --------
    >>> engine_file("B").splitlines()[0]
    '# Build B of the demo, INVENTED: runners 260 mm, header 4-1, inlet cam advanced 0 deg. No such engine exists.'
    """
    setup = SETUPS[build]
    runner_mm, advance_deg = 1000.0 * setup.runner_length, setup.inlet_advance_deg
    text = template_text(_TEMPLATE)
    text = re.sub(r"# The other header.*?(?=^\[exhaust\])", "", text, count=1, flags=re.DOTALL | re.MULTILINE)
    text = re.sub(
        r"^\[\[header\]\].*?(?=^\[exhaust\])", _HEADERS[setup.header], text, count=1, flags=re.DOTALL | re.MULTILINE
    )
    text = _with_key(text, "engine", "name", f'"Demo build {build}, inline four, 2.2 litres"')
    text = _with_key(text, "runners", "length", f'"{runner_mm:.0f} mm"')
    text = _with_key(text, "intake_cam", "advance", f'"{advance_deg:g} deg"')
    head = (
        f"# Build {build} of the demo, INVENTED: runners {runner_mm:.0f} mm, header {setup.header}, inlet cam advanced "
        f"{advance_deg:g} deg. No such engine exists.\n"
    )
    return head + text.partition("\n")[2]


def _with_key(text: str, section: str, key: str, value: str) -> str:
    """Text with another value of a key, and without the remark behind it."""
    pattern = rf"(^\[{section}\]$.*?^{key} = )[^\n]*"
    return re.sub(pattern, lambda found: found.group(1) + value, text, count=1, flags=re.DOTALL | re.MULTILINE)
