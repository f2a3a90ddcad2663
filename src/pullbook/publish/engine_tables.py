"""Tables of what the virtual engine computed: torque beside what was measured, and what stands behind each point."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.engine_curves import computed_gain
from pullbook.publish.engine_story import small_share
from pullbook.publish.figures import separated
from pullbook.publish.speeds import rpm
from pullbook.publish.tables import Table
from pullbook.quantities.rounding import digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.publish.engine_curves import EngineRun, Trace
    from pullbook.publish.figures import Measure
    from pullbook.quantities.arrays import FloatArray

__all__ = ["curves_table", "points_table"]

_JOULE_PER_KWH: Final = 3.6e6
_NONE: Final = "\u2013"


def curves_table(runs: Sequence[EngineRun], measure: Measure) -> Table:
    """Torque of every engine at the computed speeds, and what was measured there.

    Parameters
    ----------
    runs : sequence of EngineRun
        As in the chart.
    measure : Measure
        Unit of torque of the reader.

    Returns
    -------
    Table
        One row for each speed.
    """
    speeds = sorted({speed for run in runs for speed in run.computed.speed_rpm.tolist()})
    head, columns = ["engine speed"], [[rpm(speed) for speed in speeds]]

    def add(title: str, trace: Trace | None, *, signed: bool = False, doubt: bool = False) -> None:
        if trace is None:
            return
        head.append(f"{title}, {measure.symbol}")
        columns.append(_cells(speeds, trace, measure.shown(trace.torque), signed=signed))
        if doubt:
            head.append(f"cells \u00b1, {measure.symbol}")
            columns.append(_cells(speeds, trace, abs(measure.shown(trace.high - trace.torque))))

    for run in runs:
        add(f"{run.name} computed", run.computed, doubt=True)
        add(f"{run.name} measured", run.measured)
    for run in runs[1:]:
        pair = f"{run.name} minus {runs[0].name}"
        add(f"{pair} computed", computed_gain(run, runs[0]), signed=True, doubt=True)
        add(f"{pair} measured", run.gain, signed=True)
    return Table(caption="Computed torque, and what was measured at the same speeds", head=tuple(head),
                 rows=tuple(zip(*columns, strict=True)))  # fmt: skip


def _cells(speeds: Sequence[float], trace: Trace, values: FloatArray, *, signed: bool = False) -> list[str]:
    """Values at the speeds: those of the curve, linear between its points, none outside of it."""
    import numpy as np

    at = np.interp(speeds, trace.speed_rpm, values, left=np.nan, right=np.nan).tolist()
    return [separated(digits(value, 1, signed=signed)) if math.isfinite(value) else _NONE for value in at]


def points_table(engine: Mapping[str, Any]) -> Table:
    """What stands behind each computed point of an engine.

    Parameters
    ----------
    engine : mapping
        As ``simulation.json`` has it.

    Returns
    -------
    Table
        Filling, pressures, residual gas, consumption, spark, cycles until it settled, and what the balances leave.
    """
    head = (
        "engine speed", "volumetric efficiency", "indicated, bar", "pumping, bar", "friction, bar", "residual gas",
        "consumption, g/kWh", "spark, \u00b0 before top", "half burned, \u00b0 after top", "cycles",
        "mass left over", "energy left over",
    )  # fmt: skip
    rows = tuple(_point_row(point) for point in engine["points"])
    return Table(caption=f"{engine['name'] or 'Engine'}: what stands behind each point", head=head, rows=rows)


def _point_row(point: Mapping[str, Any]) -> tuple[str, ...]:
    quality = point["quality"]
    return (
        rpm(point["speed_rpm"]), f"{100 * point['volumetric_efficiency']:.1f} %", _bar(point["imep_gross"]),
        _bar(point["pmep"]), _bar(point["fmep"]), f"{100 * _mean(point, 'residual'):.1f} %",
        f"{1e3 * point['specific_consumption'] * _JOULE_PER_KWH:.0f}", digits(-_mean(point, "spark_deg"), 1),
        digits(_mean(point, "half_burned_deg"), 1),
        f"{quality['cycles']}{'' if quality['converged'] else ', not settled'}",
        small_share(abs(quality["mass_error"])), small_share(abs(quality["energy_error"])),
    )  # fmt: skip


def _bar(pressure: float) -> str:
    return digits(pressure / 1e5, 2)


def _mean(point: Mapping[str, Any], key: str) -> float:
    """Mean over the cylinders."""
    return sum(float(one[key]) for one in point["cylinders"]) / len(point["cylinders"])
