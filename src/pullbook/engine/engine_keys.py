"""Every key of an engine file, table by table; the page "The engine file" of the documentation is held to it."""

from __future__ import annotations

from typing import Final

from pullbook.engine.engine_key import Key, Kind
from pullbook.engine.engine_keys_block import BLOCK_KEYS
from pullbook.engine.engine_keys_pipes import NETWORK_KEYS, PIPE_KEYS
from pullbook.engine.engine_keys_running import RUNNING_KEYS

__all__ = ["KEYS", "LISTS", "TOP"]

_TOP: Final[tuple[tuple[str, str], ...]] = (
    ("engine", "Cylinders and crank."),
    ("camshaft", "How the two lobes stand to each other."),
    ("intake_cam", "Lobe of the intake."),
    ("exhaust_cam", "Lobe of the exhaust."),
    ("intake_valves", "Intake valves of a cylinder."),
    ("intake_port", "Intake port in the head."),
    ("exhaust_valves", "Exhaust valves of a cylinder."),
    ("exhaust_port", "Exhaust port in the head."),
    ("intake", "How the intake is laid out."),
    ("air_box", "Air box with the filter."),
    ("throttle", "Throttle."),
    ("plenum", "Plenum behind the throttle."),
    ("runners", "Intake runners."),
    ("header", "Header; one table in double brackets for each."),
    ("exhaust", "What follows the headers."),
    ("fuel", "Fuel."),
    ("mixture", "Mixture by speed."),
    ("spark", "Ignition by speed."),
    ("combustion", "How the charge burns."),
    ("heat", "Heat to the walls of the cylinder."),
    ("friction", "Friction."),
    ("walls", "Temperatures of walls, and what pipes are like inside."),
    ("ambient", "Air outside."),
    ("network", "Pipes, volumes, joins and silencers declared freely; they replace the shorthand of their side."),
)
_WHY: Final = {"air_box": "no air box is declared", "header": "no header is declared"}

TOP: Final = tuple(name for name, _ in _TOP)
KEYS: Final[dict[str, tuple[Key, ...]]] = {
    "": tuple(
        Key(name=name, kind=Kind.TABLES if name == "header" else Kind.TABLE, says=says, why=_WHY.get(name, ""),
            optional=True)
        for name, says in _TOP
    ),
    **BLOCK_KEYS,
    **PIPE_KEYS,
    **RUNNING_KEYS,
    **NETWORK_KEYS,
}  # fmt: skip
"""Keys of each table by its name; the tables themselves under the empty name."""

LISTS: Final = ("intake_cam.durations", "exhaust_cam.durations", "header", "exhaust.silencer", "network.pipe",
                "network.volume", "network.join", "network.silencer")  # fmt: skip
"""Tables that may stand several times."""
