"""A volume so small that it follows its pipes within a few steps."""

from __future__ import annotations

import numpy as np

from pullbook.engine.cycle import CycleLimits, run_until_settled
from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.simulate import operating_of

# 80 cm3 between throttle and runner, each with a bore of 46 mm: half of a swing of its pressure is gone in two steps.
TEXT = """
[engine]
cylinders = 1
bore = "46 mm"
stroke = "46 mm"
[intake]
layout = "individual"
[throttle]
diameter = "46 mm"
length = "43 mm"
opening = "16 %"
[runners]
length = "90 mm"
diameter = "45 mm"
mouth_diameter = "46 mm"
"""


def test_gas_behind_a_throttle_comes_to_rest_while_the_valves_are_shut() -> None:
    spec = parse_engine(TEXT)
    network = build_network(spec)
    settled = run_until_settled(network, operating_of(spec, 450.0), 0.025, CycleLimits(most=12))
    runner = next(k for k, pipe in enumerate(network.pipes) if pipe.name == "runner 1")
    trace = settled.trace
    shut = trace.angle < np.radians(100.0)
    pressure, temperature = trace.end[2 * runner][0, shut], trace.end[2 * runner][2, shut]
    # Nothing drives it there; it once swung by 15 kPa without end, and pumped heat until it was 60 K below the air.
    assert np.ptp(pressure) < 2e3
    assert temperature.min() > spec.ambient.temperature
