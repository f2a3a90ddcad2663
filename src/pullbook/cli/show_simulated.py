"""What ``pullbook simulate`` prints."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.quantities.showing import shown_unit
from pullbook.quantities.units import Dimension, from_si

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.quantities.showing import UnitSystem
    from pullbook.quantities.unit_table import Unit
    from pullbook.records.simulation import RunPoint, SimulatedCurve

__all__ = ["print_curves", "print_difference"]

_JOULE_PER_KWH: Final = 3.6e6
_KNOCK: Final = 1.0


def print_curves(curves: Sequence[SimulatedCurve], system: UnitSystem) -> None:
    """Print a table for each engine."""
    for number, curve in enumerate(curves):
        print(("\n" if number else "") + (curve.name or "Engine"))
        for line in _lines(curve, system):
            print(line)
        _print_remarks(curve)


def _lines(curve: SimulatedCurve, system: UnitSystem) -> Iterator[str]:
    torque_unit, power_unit = shown_unit(Dimension.TORQUE, system), shown_unit(Dimension.POWER, system)
    yield (
        f"{'':>6} {'torque':>9} {'grid ±':>7} {'power':>9} {'VE':>7} {'IMEP':>7} {'PMEP':>7} {'FMEP':>7} "
        f"{'residual':>9} {'BSFC':>7} {'spark':>7} {'CA50':>6} {'cycles':>7}"
    )
    yield (
        f"{'rpm':>6} {torque_unit.symbol:>9} {torque_unit.symbol:>7} {power_unit.symbol:>9} {'%':>7} {'bar':>7} "
        f"{'bar':>7} {'bar':>7} {'%':>9} {'g/kWh':>7} {'° BTDC':>7} {'° ATDC':>6}"
    )
    for point, error in zip(curve.points, curve.grid_error.tolist(), strict=True):
        doubt = _doubt(error, torque_unit)
        yield (
            f"{point.speed_rpm:6.0f} {from_si(point.torque, torque_unit):9.1f} {doubt:>7} "
            f"{from_si(point.power, power_unit):9.1f} {100 * point.volumetric_efficiency:7.1f} "
            f"{point.imep_gross / 1e5:7.2f} {point.pmep / 1e5:7.2f} {point.fmep / 1e5:7.2f} "
            f"{100 * _mean(point, 'residual'):9.1f} {1e3 * point.specific_consumption * _JOULE_PER_KWH:7.0f} "
            f"{-_mean(point, 'spark_deg'):7.1f} {_mean(point, 'half_burned_deg'):6.1f} {point.quality.cycles:7d}"
        )


def _mean(point: RunPoint, name: str) -> float:
    """Mean over the cylinders."""
    return sum(float(getattr(one, name)) for one in point.cylinders) / len(point.cylinders)


def _doubt(error: float, unit: Unit) -> str:
    """Size of what the grid adds to a torque."""
    return "-" if math.isnan(error) else f"{abs(from_si(error, unit)):.1f}"


def _print_remarks(curve: SimulatedCurve) -> None:
    knocking = [
        f"{point.speed_rpm:.0f}"
        for point in curve.points
        if any(one.knock_integral >= _KNOCK for one in point.cylinders)
    ]
    if knocking:
        print(
            f"knock is expected at {', '.join(knocking)} rpm with this spark and fuel: the spark would have to be "
            "later there, and the torque is not to be trusted"
        )
    for point in curve.points:
        if not point.quality.converged:
            print(f"{point.speed_rpm:.0f} rpm has not settled: {point.quality.reason}")
    for failure in curve.failures:
        print(failure)
    for remark in curve.remarks:
        print(remark)
    if curve.assumed:
        print(f"{len(curve.assumed)} values were assumed; 'pullbook engine check' lists them")


def print_difference(first: SimulatedCurve, second: SimulatedCurve, system: UnitSystem) -> None:
    """Print two torques and their difference at the speeds that both have."""
    unit, power = shown_unit(Dimension.TORQUE, system), shown_unit(Dimension.POWER, system)
    names = first.name or "first", second.name or "second"
    print(f"{names[1]} less {names[0]}")
    print(f"{'rpm':>6} {'first':>9} {'second':>9} {'gain':>9} {'grid ±':>7} {'gain':>9}")
    print(f"{'':6} {unit.symbol:>9} {unit.symbol:>9} {unit.symbol:>9} {unit.symbol:>7} {power.symbol:>9}")
    there = {one.speed_rpm: (one, error) for one, error in zip(first.points, first.grid_error.tolist(), strict=True)}
    for point, error in zip(second.points, second.grid_error.tolist(), strict=True):
        if point.speed_rpm in there:
            other, other_error = there[point.speed_rpm]
            print(
                f"{point.speed_rpm:6.0f} {from_si(other.torque, unit):9.1f} {from_si(point.torque, unit):9.1f} "
                f"{from_si(point.torque - other.torque, unit):+9.1f} {_doubt(error - other_error, unit):>7} "
                f"{from_si(point.power - other.power, power):+9.1f}"
            )
    for curve in (first, second):
        _print_remarks(curve)
