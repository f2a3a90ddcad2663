"""simulation.json: curves of the virtual engine, in the form ``pullbook.simulation/1``. Units are SI as named."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

import pullbook
from pullbook.records.codec_numbers import number, numbers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.codec_numbers import JsonObject
    from pullbook.records.simulation import RunPoint, SimulatedCurve

__all__ = ["SIMULATION_SCHEMA", "simulation_to_json"]

SIMULATION_SCHEMA: Final = "pullbook.simulation/1"
_UNITS: Final = {
    "speed_rpm": "rpm", "torque": "N m", "power": "W", "imep_gross": "Pa", "imep_net": "Pa", "pmep": "Pa",
    "fmep": "Pa", "bmep": "Pa", "volumetric_efficiency": "1", "air_flow": "kg/s", "fuel_flow": "kg/s",
    "specific_consumption": "kg/J", "exhaust_pressure": "Pa", "intake_pressure": "Pa", "exhaust_temperature": "K",
    "grid_error": "N m", "mass": "kg", "heat": "J", "angle": "deg", "length": "m", "distance": "m",
    "way": "m", "coefficient": "1", "reflection": "1",
}  # fmt: skip


def simulation_to_json(curves: Sequence[SimulatedCurve]) -> JsonObject:
    """What ``pullbook simulate --json`` writes.

    Parameters
    ----------
    curves : sequence of SimulatedCurve
        One for each engine.

    Returns
    -------
    dict
        Only dicts, lists, strings, booleans, numbers and None.

    Notes
    -----
    NaN becomes None; ten significant digits.
    """
    return {
        "schema": SIMULATION_SCHEMA,
        "program": {"name": "pullbook", "version": pullbook.__version__},
        "units": dict(_UNITS),
        "engines": [_curve(curve) for curve in curves],
    }


def _curve(curve: SimulatedCurve) -> JsonObject:
    return {
        "name": curve.name,
        "points": [_point(point) for point in curve.points],
        "grid_error": numbers(curve.grid_error),
        "failures": list(curve.failures),
        "assumed": list(curve.assumed),
        "remarks": list(curve.remarks),
    }


def _point(point: RunPoint) -> JsonObject:
    plain = asdict(point)
    cylinders = [_plain(one) for one in plain.pop("cylinders")]
    quality = _plain(plain.pop("quality"))
    found: JsonObject = {**_plain(plain), "cylinders": cylinders, "quality": quality}
    ports = plain.pop("reflections")
    # Only where it was asked for: a file without it is as it always was.
    return {**found, "reflections": [_port(port) for port in ports]} if ports else found


def _port(port: dict[str, Any]) -> JsonObject:
    return {
        **_plain(port),
        "arrivals": [{**_plain(one), "path": list(one["path"])} for one in port["arrivals"]],
        "stopped": [_plain(one) for one in port["stopped"]],
    }


def _plain(values: dict[str, object]) -> JsonObject:
    found: JsonObject = {}
    for key, value in values.items():
        if isinstance(value, bool | str | int):
            found[key] = value
        elif isinstance(value, float):
            found[key] = number(float(value))
    return found
