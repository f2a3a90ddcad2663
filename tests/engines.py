"""Virtual engines for the tests: the shipped ones, with some key changed."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.simulate import RunPlan, simulate_speed
from pullbook.engine.templates import template_text

if TYPE_CHECKING:
    from pullbook.engine.cycle import Settled
    from pullbook.engine.network import Network
    from pullbook.engine.parts import EngineSpec
    from pullbook.records.simulation import RunPoint

__all__ = ["COARSE", "FREE", "changed", "engine", "network_of", "run"]

COARSE = RunPlan(cell_size=0.030, estimate_grid_error=False, threads=1)
# An exhaust of declared pipes, in place of a header.
FREE = """
[engine]
cylinders = 1
[[network.pipe]]
name = "primary"
from = "port 1"
to = "merge"
length = "700 mm"
diameter = "40 mm"
[[network.pipe]]
name = "tail"
from = "merge"
to = "open"
length = "500 mm"
diameter = "50 mm"
[[network.join]]
name = "merge"
"""


def engine(name: str) -> EngineSpec:
    """A shipped engine."""
    return parse_engine(template_text(name))


def changed(name: str, *changes: tuple[str, str]) -> EngineSpec:
    """A shipped engine whose file has some text replaced; each text must be there."""
    text = template_text(name)
    for old, new in changes:
        assert old in text, f"{old} is not in the file of {name}"
        text = text.replace(old, new)
    return parse_engine(text)


@cache
def network_of(name: str) -> Network:
    """Network of a shipped engine."""
    return build_network(engine(name))


@cache
def run(name: str, speed_rpm: float, cell_size: float = 0.030, *, waves: bool = False) -> tuple[RunPoint, Settled]:
    """One speed of a shipped engine."""
    plan = RunPlan(cell_size=cell_size, estimate_grid_error=False, threads=1)
    return simulate_speed(engine(name), network_of(name), speed_rpm, plan, waves=waves)
