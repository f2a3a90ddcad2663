"""engine check as plain data: what ``pullbook engine check --json`` writes."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.app.check_engine import CheckedEngine

__all__ = ["engine_as_json"]


def engine_as_json(checked: CheckedEngine) -> dict[str, object]:
    """What an engine file declares, for a program.

    Parameters
    ----------
    checked : CheckedEngine
        The engine.

    Returns
    -------
    dict
        In the form ``pullbook.engine_check/1``.
    """
    spec, network = checked.spec, checked.network
    return {
        "schema": "pullbook.engine_check/1",
        "name": spec.block.name,
        "cylinders": spec.block.cylinders,
        "displacement": {"unit": "m3", "value": spec.block.displacement},
        "firing_order": list(spec.block.firing_order),
        "firing_angles_deg": list(spec.block.firing_angles_deg),
        "events_deg": {
            str(one.side): {"opens": one.opens_deg, "closes": one.closes_deg} for one in network.cylinders[0].valve_sets
        },
        "pipes": [
            {"name": pipe.name, "side": str(pipe.side), "stations": {"unit": "m", "values": pipe.stations}}
            for pipe in network.pipes
        ],
        "unusual": [asdict(one) for one in spec.unusual],
        "remarks": list(checked.remarks),
        "assumed": [asdict(one) for one in spec.assumed],
    }
