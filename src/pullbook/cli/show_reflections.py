"""What ``pullbook simulate --reflections`` prints: what arrives at each port, when, and from where."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.quantities.showing import shown_unit
from pullbook.quantities.units import Dimension, from_si
from pullbook.records.reflections import FAINTEST, Wave

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.quantities.showing import UnitSystem
    from pullbook.quantities.units import Unit
    from pullbook.records.reflections import PortReflections, WaveArrival
    from pullbook.records.simulation import SimulatedCurve

__all__ = ["print_reflections"]

_SHOWN: Final = 0.1  # of the front; weaker ones are in the JSON
_NOTE: Final = (
    "\nAngles in degrees of crank after firing; share: pressure that arrives by pressure that set out, by linear "
    f"acoustics in gas at rest. Less than {_SHOWN:g} is not shown; --json has it from {FAINTEST:g} on."
)
_DAMPED: Final = (
    "* through packing, which takes the more of a wave the shorter it is: the share is the most that can arrive, and "
    "the angle is an estimate."
)
_SENT: Final = {Wave.PRESSURE: "the blow-down", Wave.SUCTION: "suction"}


def print_reflections(curves: Sequence[SimulatedCurve], system: UnitSystem) -> None:
    """Print a table for each port of each engine.

    Parameters
    ----------
    curves : sequence of SimulatedCurve
        Engines; those whose points have reflections are told of.
    system : UnitSystem
        Units of lengths.
    """
    unit = shown_unit(Dimension.LENGTH, system)
    for curve in curves:
        for point in curve.points:
            if not point.reflections:
                continue
            print(f"\n{curve.name or 'Engine'}: waves that come to the ports at {point.speed_rpm:.0f} rpm")
            for port in point.reflections:
                for line in _lines(port, unit):
                    print(line)
            print(_NOTE)
            if any(one.damped for port in point.reflections for one in port.arrivals):
                print(_DAMPED)


def _lines(port: PortReflections, unit: Unit) -> Iterator[str]:
    sets_out = "sends out no front" if math.isnan(port.front_deg) else f"sets out at {port.front_deg:.1f}"
    yield (
        f"\ncylinder {port.cylinder}, {port.side}: opens at {port.opens_deg:.1f}, {_SENT[port.wave]} {sets_out}, "
        f"closes at {port.closes_deg % 720.0:.1f}"
    )
    decimals = 0 if unit.symbol == "mm" else 1
    shown = [one for one in port.arrivals if abs(one.coefficient) >= _SHOWN]
    if shown:
        yield f"{'at':>8} {'after opening':>14} {'valves':>8} {'share':>7}  {'wave':<9} {'distance':>9}  from"
        yield f"{'deg':>8} {'deg':>14} {'':>8} {'':>7}  {'':<9} {unit.symbol:>9}"
    for one in shown:
        share = f"{one.coefficient:+7.2f}{'*' if one.damped else ' '}"
        yield (
            f"{one.own_angle_deg:8.1f} {one.after_opening_deg:14.1f} {one.valves.value:>8} {share} "
            f"{one.wave.value:<9} {from_si(one.distance, unit):9.{decimals}f}  {_origin(port, one)}"
        )
    for stopped in port.stopped:
        if abs(stopped.coefficient) >= _SHOWN:
            yield (
                f"  its front{f' from {stopped.place}' if stopped.place else ''} stops in {stopped.pipe} at "
                f"{stopped.own_angle_deg:.1f}: {stopped.reason}"
            )


def _origin(port: PortReflections, arrival: WaveArrival) -> str:
    if arrival.from_cylinder == port.cylinder:
        return arrival.place
    way = "from" if arrival.turned else "through"
    return f"cylinder {arrival.from_cylinder}, {way} {arrival.place}"
