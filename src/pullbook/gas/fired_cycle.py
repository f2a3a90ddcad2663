"""One firing of one cylinder without its pipes: what another spark would have made of the charge it has trapped."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from pullbook.gas.burn import burn_share
from pullbook.gas.compiled import kernel
from pullbook.gas.crank import cylinder_volume
from pullbook.gas.cylinder import EXCHANGE, EXPANSION, SEALED, advance_cylinder, cylinder_gas
from pullbook.gas.lift import periodic_mean
from pullbook.gas.orifice import orifice_flow

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

    Burning: TypeAlias = tuple[float, float, float, float]
    Way: TypeAlias = tuple[float, float, float, int]
    Exhaust: TypeAlias = tuple[FloatArray, float, float]

__all__ = ["fire_cylinder"]

_MOST: float = 0.5  # share of the gas that may leave in a step


@kernel
def _burned_in(since: float, turn: float, burn: Burning) -> float:
    """Share of the burnable fuel that burns in a step that begins an angle after the start of burning."""
    if since + turn <= 0.0 or since >= burn[1]:
        return 0.0
    return burn_share(max(since, 0.0) / burn[1], min((since + turn) / burn[1], 1.0), burn[2], burn[3])


@kernel
def fire_cylinder(  # noqa: PLR0913, PLR0917 - state, settings, crank, burning, way, exhaust, two tables of the gas
    state: FloatArray,
    settings: FloatArray,
    arrangement: FloatArray,
    burn: Burning,
    way: Way,
    exhaust: Exhaust,
    table: FloatArray,
    dissociation: FloatArray,
) -> tuple[float, float]:
    """Compress, burn, expand and blow down one charge, in equal steps of crank angle.

    The same cylinder as that of the engine, with the heat to its walls. Behind the exhaust valves stands one pressure:
    the flow through them is sonic for most of the way, where the pipe has no say.

    Parameters
    ----------
    state : (4, 1) array of float
        Mass, energy, burned and fuel mass at the start; moved to the end. [kg, J, kg, kg]
    settings : (19, 1) array of float
        See `pullbook.gas.cylinder_settings`; its last temperature is written. [rows]
    arrangement : (8,) array of float
        See `pullbook.gas.crank`. [rows]
    burn : tuple of float
        Start of burning by own angle, its duration, a and m of the Wiebe function. [rad, rad, 1, 1]
    way : tuple of (float, float, float, int)
        Own angle at the start and at the end, speed of the crank, number of steps. [rad, rad, rad/s, 1]
    exhaust : tuple of (array of float, float, float)
        Effective area of the exhaust valves for flow out of the cylinder at equal steps of its own angle over two
        turns; own angle at which they open; pressure behind them. [m2, rad, Pa]
    table : (3, 14) array of float
        From `pullbook.gas.components.gas_table`. [J/(kg K), J/kg]
    dissociation : (21, 51, 4) array of float
        From `pullbook.gas.dissociation.dissociation_table`. [J/kg, J/(kg K), J/(kg K), J/(kg K2)]

    Returns
    -------
    work, peak : tuple of float
        Work on the piston, and the largest pressure, by a parabola through three steps. [J, Pa]

    Notes
    -----
    Second order in the step, the blow-down first. NaN where a state has gone wrong.
    """
    start, end, speed, count = way
    area, opens, behind = exhaust
    turn = (end - start) / count
    dt = turn / speed
    work, peak = 0.0, 0.0
    earlier, last = 0.0, 0.0
    before = cylinder_volume(start, arrangement)
    for i in range(count):
        angle = start + i * turn
        after = cylinder_volume(angle + turn, arrangement)
        since = angle - burn[0]
        phase = EXPANSION if since + turn > 0.0 else SEALED
        leaving, heat = 0.0, 0.0
        if angle + turn > opens:
            phase = EXCHANGE
            pressure, temperature, constant, gamma = cylinder_gas(state, 0, before, settings, table, dissociation)
            inside = pressure, temperature, constant, gamma, 0.0, 0.0, 0.0
            out = dt * orifice_flow(periodic_mean(area, angle, angle + turn), inside, behind)
            leaving = min(out / state[0, 0], _MOST)
            heat = state[0, 0] * constant * temperature
        gained = (
            -leaving * state[0, 0], -leaving * (state[1, 0] + heat), -leaving * state[2, 0], -leaving * state[3, 0],
        )  # fmt: skip
        step = before, after, dt, _burned_in(since, turn, burn), phase
        done, _, _, now, _ = advance_cylinder(state, 0, step, gained, settings, table, dissociation)
        work += done
        if last >= earlier and last > now:
            peak = max(peak, last + 0.125 * (now - earlier) ** 2 / (2.0 * last - earlier - now))
        earlier, last, before = last, now, after
    return work, peak
