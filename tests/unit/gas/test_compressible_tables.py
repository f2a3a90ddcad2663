"""Steady flow through pipes, row by row against the tables of compressible flow (gamma 1.4).

Isentropic flow and normal shock: NACA report 1135, tables I and II. Fanno and Rayleigh flow: Shapiro, The Dynamics and
Thermodynamics of Compressible Fluid Flow, tables B.2 and B.3 (from memory). All digits computed
anew from their equations.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from duct_cases import FREE, GAS_CONSTANT, cells_of, centres, filled, held, room, straight, went
from scipy.interpolate import CubicSpline

from pullbook.gas.grid import PipeShape

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

P: Final = 1e5
T: Final = 300.0
RHO: Final = P / (GAS_CONSTANT * T)
THROAT: Final = np.pi / 4.0 * 0.03**2
# Choked flow function sqrt(g) (2/(g + 1))^((g + 1)/(2 (g - 1))) for 1.4.
CHOKED: Final = 0.684731 * THROAT * P / np.sqrt(GAS_CONSTANT * T)

# Mach number: temperature, pressure, density over their stagnation values, area over the sonic area.
ISENTROPIC: Final = {
    0.1: (0.99800, 0.99303, 0.99502, 5.82183),
    0.2: (0.99206, 0.97250, 0.98028, 2.96352),
    0.3: (0.98232, 0.93947, 0.95638, 2.03507),
    0.5: (0.95238, 0.84302, 0.88517, 1.33984),
    0.8: (0.88652, 0.65602, 0.73999, 1.03823),
    1.0: (0.83333, 0.52828, 0.63394, 1.0),
    1.5: (0.68966, 0.27240, 0.39498, 1.17617),
    2.0: (0.55556, 0.12780, 0.23005, 1.68750),
    3.0: (0.35714, 0.02722, 0.07623, 4.23457),
}
# Mach number: 4 f L/D to sonic flow (Fanning's f), temperature, pressure, stagnation pressure over those of sonic flow.
FANNO: Final = {
    0.1: (66.92156, 1.19760, 10.94351, 5.82183),
    0.2: (14.53327, 1.19048, 5.45545, 2.96352),
    0.3: (5.29925, 1.17878, 3.61906, 2.03507),
    0.4: (2.30849, 1.16279, 2.69582, 1.59014),
    0.5: (1.06906, 1.14286, 2.13809, 1.33984),
    0.6: (0.49082, 1.11940, 1.76336, 1.18820),
    0.8: (0.07229, 1.06383, 1.28928, 1.03823),
    2.0: (0.30500, 0.66667, 0.40825, 1.68750),
    3.0: (0.52216, 0.42857, 0.21822, 4.23457),
}
# Mach number: stagnation temperature, temperature, pressure, stagnation pressure over those of sonic flow.
RAYLEIGH: Final = {
    0.2: (0.17355, 0.20661, 2.27273, 1.23460),
    0.3: (0.34686, 0.40887, 2.13144, 1.19855),
    0.5: (0.69136, 0.79012, 1.77778, 1.11405),
    0.8: (0.96395, 1.02548, 1.26582, 1.01934),
    2.0: (0.79339, 0.52893, 0.36364, 1.50310),
    3.0: (0.65398, 0.28028, 0.17647, 3.42445),
}


def of_flow(rows: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mach numbers, and rows of stagnation temperature, temperature, pressure, stagnation pressure."""
    mach = rows[1] / np.sqrt(1.4 * rows[2] / rows[0])
    temperature = rows[2] / rows[0] / GAS_CONSTANT
    warmth = 1.0 + 0.2 * mach**2
    return mach, np.array([temperature * warmth, temperature, rows[2], rows[2] * warmth**3.5])


def stepped(machs: tuple[float, ...]) -> PipeShape:
    """Straight parts with the areas of these Mach numbers and tapers between them, each of 100 mm in cells of 20 mm."""
    areas = THROAT * np.repeat([ISENTROPIC[mach][3] for mach in machs], 2)
    position: FloatArray = 0.1 * np.arange(len(areas), dtype=np.float64)
    cells = round(position[-1] / 0.02)
    return PipeShape(position=position, diameter=np.sqrt(4.0 / np.pi * areas), cells=cells, friction=0.0, heat=0.0)


def at_rest(shape: PipeShape, pressure: FloatArray | float = P) -> Pipes:
    """Pipe of still gas of 300 K."""
    spread = pressure * np.ones(shape.cells)
    return filled(shape, spread / (GAS_CONSTANT * T), 0.0, spread)


def ends_of(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Values at the ends of a pipe, from those in the middles of its outer cells."""
    return 1.5 * values[..., 0] - 0.5 * values[..., 1], 1.5 * values[..., -1] - 0.5 * values[..., -2]


def test_subsonic_flow_has_every_row_of_the_isentropic_table() -> None:
    machs = (0.1, 0.2, 0.3, 0.5, 0.8)
    rows = went(at_rest(stepped(machs)), (room(P, T), room(ISENTROPIC[0.8][1] * P, T)), 0.3)
    found, states = of_flow(rows)
    for k, mach in enumerate(machs):
        cell = 10 * k + 2  # the middle of a straight part
        temperature, pressure, density, _ = ISENTROPIC[mach]
        assert found[cell] == pytest.approx(mach, abs=5e-6)
        # Half a digit of the table.
        assert states[1, cell] / T == pytest.approx(temperature, abs=6e-6)
        assert states[2, cell] / P == pytest.approx(pressure, abs=6e-6)
        assert rows[0, cell] / RHO == pytest.approx(density, abs=6e-6)


def test_flow_through_a_throat_has_the_supersonic_rows_of_the_isentropic_table() -> None:
    machs = (0.3, 0.8, 1.0, 1.5, 2.0, 3.0)
    shape = stepped(machs)
    pipes = at_rest(shape, np.where(centres(1.1, shape.cells) < 0.5, P, 0.05 * P))
    rows = went(pipes, (room(P, T), FREE), 0.1)
    np.testing.assert_allclose(pipes.flux[0, 1 : shape.cells + 2], CHOKED, rtol=5e-5)
    found, states = of_flow(rows)
    for k, mach in enumerate(machs):
        cell = 10 * k + 2
        # Sonic flow in a straight part is on the edge: a thousandth of its area is 4 % of its Mach number.
        within = 3e-3 if mach == 1.0 else 3e-4
        temperature, pressure, density, _ = ISENTROPIC[mach]
        assert found[cell] == pytest.approx(mach, rel=within)
        assert states[1, cell] / T == pytest.approx(temperature, rel=within)
        assert states[2, cell] / P == pytest.approx(pressure, rel=within)
        assert rows[0, cell] / RHO == pytest.approx(density, rel=within)


def test_shock_stands_in_a_widening_nozzle_where_the_tables_have_it() -> None:
    # Mach 2 before it at 1.6875 throat areas, 0.72087 of the stagnation pressure behind it: flow at Mach 0.3 then fills
    # 2.03507/0.72087 throat areas, at 0.93947 * 0.72087 of the pressure before the nozzle.
    area = THROAT * np.array([2.03507, 2.03507, 1.0, 2.82308, 2.82308])
    shape = PipeShape(
        position=np.array([0.0, 0.1, 0.2, 0.4, 0.5]),
        diameter=np.sqrt(4.0 / np.pi * area),
        cells=25,
        friction=0.0,
        heat=0.0,
    )
    pipes = at_rest(shape, 0.9 * P)
    rows = went(pipes, (room(P, T), room(0.67724 * P, T)), 0.3)
    mach, states = of_flow(rows)
    where = 0.2 + 0.2 * (1.6875**0.5 - 1.0) / (2.82308**0.5 - 1.0)
    fastest = int(mach.argmax())
    assert centres(0.5, 25)[fastest] == pytest.approx(where, abs=0.02)
    assert mach[fastest] == pytest.approx(2.0, abs=0.03)
    assert states[3, -1] / P == pytest.approx(0.72087, abs=8e-4)
    assert mach[-1] == pytest.approx(0.3, abs=2.5e-3)
    assert pipes.flux[0, 1] == pytest.approx(CHOKED, rel=5e-3)


@pytest.mark.parametrize(("first", "last"), [(0.1, 0.2), (0.2, 0.4), (0.3, 0.5), (0.4, 0.6), (0.5, 0.8)])
def test_friction_leads_from_row_to_row_of_fannos_table(first: float, last: float) -> None:
    # A loss that is spread over the length acts as friction of a constant factor. From 0.3 to 0.5: 4.23019.
    shape = straight(1.0, 100, bend_loss=FANNO[first][0] - FANNO[last][0])
    before = P * (1.0 + 0.2 * first**2) ** -3.5
    back = before * FANNO[last][2] / FANNO[first][2]
    rows = went(at_rest(shape), (room(P, T), room(back, T)), 0.2)
    mach, states = of_flow(rows)
    start, end = ends_of(mach)
    assert start == pytest.approx(first, abs=5e-6)
    assert end == pytest.approx(last, abs=1.2e-3)
    start, end = ends_of(states[1:])
    assert end / start == pytest.approx(np.divide(FANNO[last][1:], FANNO[first][1:]), rel=1.3e-3)
    # No heat: the stagnation temperature stays.
    np.testing.assert_allclose(states[0], T, rtol=1e-4)


def test_friction_slows_supersonic_flow_from_row_to_row_of_fannos_table() -> None:
    density, speed = RHO * 0.2, 3.0 * np.sqrt(1.4 * GAS_CONSTANT * T)
    pipes = filled(straight(1.0, 100, bend_loss=0.52216 - 0.30500), density, speed, np.full(100, 0.2 * P))
    mach, states = of_flow(went(pipes, (held(density, speed, 0.2 * P), FREE), 0.02))
    assert ends_of(mach)[1] == pytest.approx(2.0, abs=2e-5)
    before = np.array([T, 0.2 * P, 0.2 * P * 2.8**3.5])
    assert ends_of(states[1:])[1] / before == pytest.approx(np.divide(FANNO[2.0][1:], FANNO[3.0][1:]), rel=5e-5)


def test_heat_leads_from_row_to_row_of_rayleighs_table() -> None:
    # Walls so hot that the gas takes the same heat all along; it leaves near sonic flow.
    cells = 200
    pipes = at_rest(straight(1.0, cells, heat=0.6, wall_temperature=2e4))
    mach, states = of_flow(went(pipes, (room(P, T), room(0.45 * P, T)), 0.12))
    assert mach[0] < 0.1
    assert mach[-1] > 0.88
    at = CubicSpline(mach, states.T)
    for row, within in ((0.2, 4e-4), (0.3, 8e-5), (0.8, 5e-5)):
        wanted = np.divide(RAYLEIGH[row], RAYLEIGH[0.5])
        assert at(row) / at(0.5) == pytest.approx(wanted, rel=within)
    # The gas is hottest before it is fastest: 1.028571 of the sonic temperature at Mach 1/sqrt(1.4) = 0.845154.
    assert states[1].max() / at(0.5)[1] == pytest.approx(1.028571 / 0.79012, rel=2e-4)
    assert mach[states[1].argmax()] == pytest.approx(0.845154, abs=0.01)


def test_heat_slows_supersonic_flow_from_row_to_row_of_rayleighs_table() -> None:
    density, speed = RHO * 0.2, 3.0 * np.sqrt(1.4 * GAS_CONSTANT * T)
    shape = straight(1.0, 200, heat=0.025, wall_temperature=2e4)
    pipes = filled(shape, density, speed, np.full(200, 0.2 * P))
    mach, states = of_flow(went(pipes, (held(density, speed, 0.2 * P), FREE), 0.02))
    assert mach[-1] < 2.0
    before = np.array([2.8 * T, T, 0.2 * P, 0.2 * P * 2.8**3.5])
    wanted = np.divide(RAYLEIGH[2.0], RAYLEIGH[3.0])
    assert CubicSpline(-mach, states.T)(-2.0) / before == pytest.approx(wanted, rel=1e-4)


def test_heat_of_the_walls_is_what_the_stream_has_gained() -> None:
    pipes = at_rest(straight(1.0, 100, heat=2.0, wall_temperature=1100.0))
    went(pipes, (room(P, T), room(0.9 * P, T)), 0.2)
    pipes.wall_heat[:] = 0.0
    went(pipes, (room(P, T), room(0.9 * P, T)), 0.01)
    given = pipes.wall_heat[cells_of(pipes)].sum() / 0.01
    assert pipes.flux[2, 101] - pipes.flux[2, 1] == pytest.approx(given, rel=4e-6)
