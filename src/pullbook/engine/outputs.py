"""Settled -> RunPoint: what the last cycle means for an engine tester."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.knock import estimate_knock
from pullbook.engine.network_ends import Side, ValveEnd
from pullbook.gas.burn import wiebe
from pullbook.gas.crank import SWEPT
from pullbook.gas.engine_arrays import (
    AIR_IN,
    CLOSED_WORK,
    ENERGY_IN,
    FUEL_IN,
    INTAKE_CLOSES,
    OPEN_WORK,
    TRAPPED_BURNED,
    TRAPPED_FUEL,
    TRAPPED_MASS,
    WALL_HEAT,
    WENT_OUT,
)
from pullbook.gas.mixture import energy_of, gas_constant
from pullbook.records.simulation import CylinderPoint, RunPoint, RunQuality

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.engine.cycle import Settled
    from pullbook.engine.knock import KnockEstimate
    from pullbook.quantities.arrays import FloatArray

__all__ = ["run_point"]

_TURN: Final = 2.0 * pi
_CLOSE: Final = 1e-6  # K


def run_point(settled: Settled, friction: Callable[[float, float, float], float], octane: float) -> RunPoint:
    r"""Numbers of one operating point.

    .. math:: T = (\mathrm{IMEP_{net}} - \mathrm{FMEP})\,V_d / 4\pi, \qquad
        \eta_v = m_\mathrm{air} / (\rho_0 V_d)

    Parameters
    ----------
    settled : Settled
        Last cycle of a run.
    friction : callable
        Friction mean effective pressure from the mean of the peak pressures, the pumping mean effective pressure and
        the speed. [Pa of Pa, Pa, rpm]
    octane : float
        Octane number of the reference fuel that knocks like the fuel. [1]

    Returns
    -------
    RunPoint
        The point.

    Notes
    -----
    The volumetric efficiency refers to the air outside, with its moisture.
    """
    arrays, operating = settled.assembled.arrays, settled.operating
    cylinders = tuple(_cylinder(settled, c, octane) for c in range(arrays.cylinders.state.shape[1]))
    swept = float(arrays.cylinders.crank[:, SWEPT].sum())
    totals = arrays.cylinders.totals
    gross, pumping = float(totals[CLOSED_WORK].sum()) / swept, float(totals[OPEN_WORK].sum()) / swept
    fmep = friction(float(np.mean([one.peak_pressure for one in cylinders])), pumping, operating.speed_rpm)
    bmep = gross + pumping - fmep
    per_second = operating.speed_rpm / 120.0
    intake = arrays.valves.intake == 1
    air, fuel = (float(arrays.valves.totals[row, intake].sum()) for row in (AIR_IN, FUEL_IN))
    density = operating.air.pressure / (arrays.pipes.gas[0, 0] * operating.air.temperature)
    power = bmep * swept * per_second
    return RunPoint(
        speed_rpm=operating.speed_rpm,
        torque=bmep * swept / (4.0 * pi),
        power=power,
        imep_gross=gross,
        imep_net=gross + pumping,
        pmep=pumping,
        fmep=fmep,
        bmep=bmep,
        volumetric_efficiency=air / (density * swept),
        air_flow=air * per_second,
        fuel_flow=fuel * per_second,
        specific_consumption=fuel * per_second / power if power > 0.0 else float("nan"),
        exhaust_pressure=_port_pressure(settled, Side.EXHAUST) - operating.air.pressure,
        intake_pressure=_port_pressure(settled, Side.INTAKE) - operating.air.pressure,
        exhaust_temperature=_exhaust_temperature(settled),
        cylinders=cylinders,
        quality=_quality(settled),
    )


def _quality(settled: Settled) -> RunQuality:
    arrays = settled.assembled.arrays
    return RunQuality(
        cell_size=settled.assembled.cell_size,
        cells=int(arrays.pipes.temperature.size - 2 * (arrays.pipes.start.size - 1)),
        steps=settled.steps,
        cycles=settled.cycles,
        converged=settled.converged,
        reason=settled.reason,
        torque_change=settled.changes[0],
        trapped_change=settled.changes[1],
        residual_change=settled.changes[2],
        mass_error=settled.errors[0],
        energy_error=settled.errors[1],
        floors=settled.floors,
    )


def _cylinder(settled: Settled, c: int, octane: float) -> CylinderPoint:
    arrays = settled.assembled.arrays
    totals, swept = arrays.cylinders.totals[:, c], float(arrays.cylinders.crank[c, SWEPT])
    mine = arrays.valves.cylinder == c
    intake = mine & (arrays.valves.intake == 1)
    trapped = float(totals[TRAPPED_MASS])
    own, pressure = _own_trace(settled, c, 0)
    peak = int(pressure.argmax())
    after = own[peak] if own[peak] < 360.0 else own[peak] - 720.0
    return CylinderPoint(
        number=settled.assembled.network.cylinders[c].number,
        trapped_mass=trapped,
        fresh_mass=trapped - float(totals[TRAPPED_BURNED]),
        fuel_mass=float(totals[TRAPPED_FUEL]),
        residual=float(totals[TRAPPED_BURNED]) / trapped,
        air_mass=float(arrays.valves.totals[AIR_IN, intake].sum()),
        backflow_mass=float(arrays.valves.totals[WENT_OUT, intake].sum()),
        imep_gross=float(totals[CLOSED_WORK]) / swept,
        imep_net=float(totals[CLOSED_WORK] + totals[OPEN_WORK]) / swept,
        pmep=float(totals[OPEN_WORK]) / swept,
        peak_pressure=float(pressure[peak]),
        peak_angle_deg=float(after),
        wall_heat=float(totals[WALL_HEAT]),
        spark_deg=settled.timings[c].spark_deg,
        half_burned_deg=settled.timings[c].half_burned_deg,
        knock_integral=1.0 - _knock(settled, c, octane).margin,
    )


def _own_trace(settled: Settled, c: int, row: int) -> tuple[FloatArray, FloatArray]:
    """Own angle of a cylinder, rising from 0 to 720, and what was written of it. [deg, SI]."""
    firing = settled.assembled.network.cylinders[c].firing_angle_deg
    own = (np.degrees(settled.trace.angle) - firing) % 720.0
    order = np.argsort(own, kind="stable")
    return own[order], settled.trace.cylinder[c, row, order]


def _knock(settled: Settled, c: int, octane: float) -> KnockEstimate:
    """Self-ignition of the end gas from the closing of the intake valves to the end of burning."""
    own, pressure = _own_trace(settled, c, 0)
    _, temperature = _own_trace(settled, c, 1)
    after = np.where(own > 360.0, own - 720.0, own)
    order = np.argsort(after, kind="stable")
    timing, burn = settled.timings[c], settled.operating.burn
    closing = np.degrees(settled.assembled.arrays.cylinders.timing[INTAKE_CLOSES, c]) - 720.0
    keep = order[(after[order] >= closing) & (after[order] <= timing.start_deg + timing.duration_deg)]
    progress = (after[keep] - timing.start_deg) / timing.duration_deg
    burned = np.array([wiebe(one, burn.completeness, burn.form) for one in progress.tolist()])
    start = float(pressure[keep[0]]), float(temperature[keep[0]])
    arrays = settled.assembled.arrays
    trapped = arrays.cylinders.totals[:, c]
    mixture = (
        arrays.pipes.gas,
        float(trapped[TRAPPED_BURNED] / trapped[TRAPPED_MASS]),
        float(trapped[TRAPPED_FUEL] / trapped[TRAPPED_MASS]),
    )
    return estimate_knock(after[keep], pressure[keep], burned, start, (octane, settled.operating.speed_rpm), mixture)


def _valve_ends(settled: Settled, side: Side) -> list[int]:
    network = settled.assembled.network
    return [
        2 * one.pipe + int(one.end == "end")
        for one in network.attachments
        if isinstance(one.to, ValveEnd) and network.pipes[one.pipe].side is side
    ]


def _port_pressure(settled: Settled, side: Side) -> float:
    """Mean over time and ports. [Pa]."""
    trace = settled.trace
    width = np.diff(np.append(trace.angle, trace.angle[0] + 2.0 * _TURN))
    return float(np.mean([np.average(trace.end[e, 0], weights=width) for e in _valve_ends(settled, side)]))


def _exhaust_temperature(settled: Settled) -> float:
    """Temperature with the energy of what leaves through the exhaust valves, by its mean heat capacity. [K]."""
    arrays = settled.assembled.arrays
    exhaust = arrays.valves.intake == 0
    mass = -float((arrays.valves.totals[0, exhaust] - arrays.valves.totals[WENT_OUT, exhaust]).sum())
    enthalpy = -float(arrays.valves.totals[ENERGY_IN, exhaust].sum())
    if not mass > 0.0:
        return float("nan")
    table = arrays.pipes.gas
    low, high = 250.0, 3000.0
    while high - low > _CLOSE:
        middle = 0.5 * (low + high)
        found = energy_of(table, middle, 1.0, 0.0) + gas_constant(table, 1.0, 0.0) * middle
        low, high = (middle, high) if found < enthalpy / mass else (low, middle)
    return low
