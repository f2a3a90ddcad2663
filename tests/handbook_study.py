"""Rules of the trade beside the virtual engine: where the torque peak goes when one dimension is changed.

``python tests/handbook_study.py`` prints the table of docs/methods/virtual-engine.md.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from engines import changed

from pullbook.engine.handbook import area_rule_speed, bell_primary_length
from pullbook.engine.handbook_waves import engelman_speed
from pullbook.engine.simulate import RunPlan, simulate_curve

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

SPEEDS = tuple(float(rpm) for rpm in range(2500, 8001, 250))
PLAN = RunPlan(cell_size=0.030, estimate_grid_error=False, threads=2)
ENGINE = "inline-four"
CYLINDER = 5.495e-4  # m3
Changes = tuple[tuple[str, str], ...]


@cache
def torque(changes: Changes, speeds: Sequence[float] = SPEEDS) -> FloatArray:
    """Torque of the engine with some text of its file replaced. [N m]"""
    curve = simulate_curve(changed(ENGINE, *changes), speeds, PLAN)
    assert not curve.failures
    return np.array([point.torque for point in curve.points])


def peak_speed(values: FloatArray, speeds: Sequence[float] = SPEEDS) -> float:
    """Speed of the highest torque, from a parabola through the three points around it. [rpm]"""
    top = int(np.clip(values.argmax(), 1, values.size - 2))
    left, middle, right = values[top - 1 : top + 2]
    return float(speeds[top] + 0.5 * (speeds[1] - speeds[0]) * (left - right) / (left - 2.0 * middle + right))


def centre(values: FloatArray, speeds: Sequence[float] = SPEEDS) -> float:
    """Centre of the best third of a curve: where the engine breathes well, whichever ripple is highest. [rpm]"""
    weight = np.maximum(values - np.quantile(values, 2 / 3), 0.0)
    return float(np.average(np.array(speeds), weights=weight))


def runner(length_mm: int) -> Changes:
    """Runner of another length."""
    return ((('length = "300 mm"', f'length = "{length_mm} mm"')),)


def primary(length_mm: int = 640, diameter_mm: float = 40.0) -> Changes:
    """Primary of another length and diameter."""
    old = 'primary = { length = "640 mm", diameter = "40 mm"'
    return ((old, f'primary = {{ length = "{length_mm} mm", diameter = "{diameter_mm:g} mm"'),)


def later_closing(deg: int) -> Changes:
    """Intake cam that lasts longer, opening where it did."""
    return (
        ('lasts = "262 deg"', f'lasts = "{262 + deg} deg"'), ('lasts = "220 deg"', f'lasts = "{220 + deg} deg"'),
        ('lasts = "140 deg"', f'lasts = "{140 + deg} deg"'),
        ('centreline = "112 deg"              # after', f'centreline = "{112 + deg // 2} deg"              # after'),
    )  # fmt: skip


def valves(scale: float) -> Changes:
    """Intake valves and their flow made larger or smaller."""
    flows = [67, 129, 177, 205, 217]
    new = " ".join(f"{flow * scale * scale:.0f}" for flow in flows)
    return (
        ('head = "34.5 mm"', f'head = "{34.5 * scale:.2f} mm"'),
        ('throat = "30.5 mm"', f'throat = "{30.5 * scale:.2f} mm"'),
        ('into   = "67 129 177 205 217 cfm"', f'into   = "{new} cfm"'),
        ('valve_diameter = "43 mm"', f'valve_diameter = "{43 * scale:.1f} mm"'),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One dimension changed from low to high, and where a rule says that the peak goes."""

    name: str
    source: str
    low: Changes
    high: Changes
    says: tuple[float, float] | str = ""
    labels: tuple[str, str] = ("", "")
    extra: dict[str, str] = field(default_factory=dict)


def engelman(length: float) -> float:
    """Engelman's speed for a runner with its port and bellmouth. [rpm]"""
    area = np.pi / 4.0 * 0.044**2
    return float(engelman_speed(area, length + 0.09, CYLINDER, 11.0, 350.0))


def bell(length: float) -> float:
    """Speed at which the 850 rule wants a primary of this length; exhaust opens 56 deg before bottom. [rpm]"""
    speeds = np.linspace(2000.0, 12000.0, 2001)
    lengths = np.array([bell_primary_length(56.0, float(speed)) for speed in speeds])
    return float(np.interp(-(length + 0.08), -lengths, speeds))


def by_area(diameter: float) -> float:
    """Speed of the area rule. [rpm]"""
    return float(area_rule_speed(np.pi / 4.0 * diameter**2, CYLINDER))


RULES = (
    Rule(
        name="runner", source="Engelman (Helmholtz, K = 2.1)", low=runner(440), high=runner(240),
        labels=("440 mm", "240 mm"), says=(engelman(0.44), engelman(0.24)),
    ),
    Rule(
        name="primary length", source="850 rule", low=primary(880), high=primary(480), labels=("880 mm", "480 mm"),
        says=(bell(0.88), bell(0.48)),
    ),
    Rule(
        name="primary bore", source="88200 rule", low=primary(diameter_mm=36.0), high=primary(diameter_mm=46.0),
        labels=("36 mm", "46 mm"), says=(by_area(0.036), by_area(0.046)),
    ),
    Rule(
        name="intake closes", source="about 500 rpm for 10 deg", low=later_closing(-12), high=later_closing(12),
        labels=("12 deg earlier", "12 deg later"), says="+1200",
    ),
    Rule(
        name="intake valves", source="Mach index: speed as the area", low=valves(0.9), high=valves(1.05),
        labels=("90 %", "105 %"), says="+36 %",
    ),
)  # fmt: skip


def main() -> None:
    """Print the table."""
    write = sys.stdout.write
    write("| changed | from | to | rule | rule says, rpm | peak, rpm | centre of the best third, rpm |\n")
    write("| --- | --- | --- | --- | --- | --- | --- |\n")
    for rule in RULES:
        low, high = torque(rule.low), torque(rule.high)
        says = rule.says if isinstance(rule.says, str) else f"{rule.says[0]:.0f} → {rule.says[1]:.0f}"
        write(
            f"| {rule.name} | {rule.labels[0]} | {rule.labels[1]} | {rule.source} | {says} "
            f"| {peak_speed(low):.0f} → {peak_speed(high):.0f} | {centre(low):.0f} → {centre(high):.0f} |\n"
        )
        gain = high - low
        write(f"<!-- gain: {' '.join(f'{s:.0f}:{g:+.1f}' for s, g in zip(SPEEDS, gain, strict=True))} -->\n")


if __name__ == "__main__":
    main()
