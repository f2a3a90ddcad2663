"""What comes back to the ports of an engine at one speed, as tables of the page."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.sections import environment
from pullbook.publish.speeds import rpm
from pullbook.publish.tables import Table
from pullbook.quantities.rounding import digits
from pullbook.quantities.showing import UnitSystem, show
from pullbook.quantities.units import Dimension
from pullbook.records.reflections import Wave

if TYPE_CHECKING:
    from pullbook.records.reflections import PortReflections, WaveArrival
    from pullbook.records.simulation import RunPoint

__all__ = ["waves_html"]

_SHOWN: Final = 0.1  # of the front; what is weaker is in the command's JSON
_SENT: Final = {Wave.PRESSURE: "the blow-down", Wave.SUCTION: "suction"}


def waves_html(point: RunPoint, system: UnitSystem) -> str:
    """Tables of the waves that come to the ports of the first cylinder; what a wave map shows, in words and numbers.

    Parameters
    ----------
    point : RunPoint
        The engine at one speed, with its reflections.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        HTML; everything escaped.
    """
    first = min((port.cylinder for port in point.reflections), default=0)
    ports = [port for port in point.reflections if port.cylinder == first]
    context: dict[str, Any] = {
        "speed": rpm(point.speed_rpm), "shown": _SHOWN,
        "ports": [(_says(port), _table(port, system)) for port in ports],
        "damped": any(one.damped for port in ports for one in _strong(port)), "figures": {}, "story": {}, "origins": {},
    }  # fmt: skip
    return environment().get_template("engine_waves.html.j2").render(context)


def _strong(port: PortReflections) -> list[WaveArrival]:
    return [one for one in port.arrivals if abs(one.coefficient) >= _SHOWN]


def _says(port: PortReflections) -> str:
    sets_out = "sends out no front" if math.isnan(port.front_deg) else f"sets out at {digits(port.front_deg, 1)}\u00b0"
    return (
        f"Cylinder {port.cylinder}, {port.side}: the valves open at {digits(port.opens_deg, 1)}\u00b0, "
        f"{_SENT[port.wave]} {sets_out}, they close at {digits(port.closes_deg % 720.0, 1)}\u00b0."
    )


def _table(port: PortReflections, system: UnitSystem) -> Table | None:
    rows = tuple(
        (
            f"{digits(one.own_angle_deg, 1)}\u00b0", f"{digits(one.after_opening_deg, 1)}\u00b0", one.valves.value,
            digits(one.coefficient, 2, signed=True) + ("*" if one.damped else ""), one.wave.value,
            show(one.distance, Dimension.LENGTH, system), _origin(port, one),
        )
        for one in _strong(port)
    )  # fmt: skip
    head = ("arrives at", "after opening", "valves", "share", "wave", "distance", "from")
    caption = f"Waves that come to the {port.side} port of cylinder {port.cylinder}"
    return Table(caption=caption, head=head, rows=rows) if rows else None


def _origin(port: PortReflections, arrival: WaveArrival) -> str:
    if arrival.from_cylinder == port.cylinder:
        return arrival.place
    way = "from" if arrival.turned else "through"
    return f"cylinder {arrival.from_cylinder}, {way} {arrival.place}"
