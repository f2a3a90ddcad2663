"""Steady flow with change of area, friction and heat, against the tables of compressible flow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from duct_cases import CLOSED, FREE, GAMMA, GAS_CONSTANT, cells_of, centres, filled, held, room, straight, went

from pullbook.gas.grid import AREA, FACTORS, PipeShape
from pullbook.gas.losses import wall_rates
from pullbook.gas.pipes import predict

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes

ATMOSPHERE = 1e5
WARM = 300.0


def nozzle(cell: float) -> PipeShape:
    """40 mm, down to 32 mm and up again over 100 mm each."""
    return PipeShape(
        position=np.array([0.0, 0.2, 0.3, 0.4, 0.6]),
        diameter=np.array([0.04, 0.04, 0.032, 0.04, 0.04]),
        cells=round(0.6 / cell),
        friction=0.0,
        heat=0.0,
    )


def still(shape: PipeShape) -> Pipes:
    pressure = np.full(shape.cells, ATMOSPHERE)
    return filled(shape, ATMOSPHERE / (GAS_CONSTANT * WARM), 0.0, pressure)


def mass_flow(area: float, stagnation: float, mach: float) -> float:
    """Mass flow of isentropic flow (NACA report 1135, equation 99)."""
    factor = np.sqrt(GAMMA) * mach * (1.0 + 0.5 * (GAMMA - 1.0) * mach**2) ** (-0.5 * (GAMMA + 1.0) / (GAMMA - 1.0))
    return float(area * stagnation / np.sqrt(GAS_CONSTANT * WARM) * factor)


@pytest.mark.parametrize("diameters", [(0.04, 0.032, 0.04), (0.03, 0.06, 0.02)])
def test_gas_at_rest_in_tapers_stays_at_rest(diameters: tuple[float, ...]) -> None:
    shape = PipeShape(position=np.array([0.0, 0.1, 0.3]), diameter=np.array(diameters), cells=15)
    pipes = still(shape)
    rows = went(pipes, (CLOSED, CLOSED), 0.02)
    np.testing.assert_allclose(rows[1], 0.0, atol=1e-9)
    np.testing.assert_allclose(rows[2], ATMOSPHERE, rtol=1e-12)


@pytest.mark.parametrize("back", [0.99, 0.95, 0.90])
@pytest.mark.parametrize("cell", [0.02, 0.01])
def test_steady_flow_through_tapers_is_exact(back: float, cell: float) -> None:
    pipes = still(nozzle(cell))
    went(pipes, (room(ATMOSPHERE, WARM), room(back * ATMOSPHERE, WARM)), 0.3)
    # The jet leaves at the pressure of the room: its Mach number follows from the pressure ratio (NACA 1135, eq. 44).
    mach = np.sqrt(2.0 / (GAMMA - 1.0) * ((1.0 / back) ** ((GAMMA - 1.0) / GAMMA) - 1.0))
    expected = mass_flow(np.pi / 4.0 * 0.04**2, ATMOSPHERE, mach)
    flows = pipes.flux[0, 1 : pipes.start[1]]
    # Half a percent is asked for; in truth it is exact, and slow to settle at little flow.
    np.testing.assert_allclose(flows, expected, rtol=1e-7)


def test_pressure_along_a_taper_is_that_of_the_isentropic_table() -> None:
    # Area over throat area, Mach number, pressure ratio. NACA report 1135, table I (gamma 1.4).
    table = [(2.03507, 0.3, 0.93947), (1.33984, 0.5, 0.84302), (1.03823, 0.8, 0.65602)]
    throat = np.pi / 4.0 * 0.03**2
    area = np.array([row[0] for row in table]) * throat
    shape = PipeShape(
        position=np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5]),
        diameter=np.sqrt(4.0 / np.pi * np.array([area[0], area[0], area[1], area[1], area[2], area[2]])),
        cells=25,
        friction=0.0,
        heat=0.0,
    )
    pipes = still(shape)
    rows = went(pipes, (room(ATMOSPHERE, WARM), room(table[2][2] * ATMOSPHERE, WARM)), 0.3)
    for cell, (_, mach, ratio) in zip((2, 12, 23), table, strict=True):
        assert rows[2, cell] / ATMOSPHERE == pytest.approx(ratio, abs=2e-5)
        sound = np.sqrt(GAMMA * rows[2, cell] / rows[0, cell])
        assert rows[1, cell] / sound == pytest.approx(mach, abs=2e-5)


@pytest.mark.parametrize("back", [0.80, 0.70])
def test_choked_throat_passes_what_the_table_says(back: float) -> None:
    pipes = still(nozzle(0.02))
    went(pipes, (room(ATMOSPHERE, WARM), room(back * ATMOSPHERE, WARM)), 0.1)
    expected = mass_flow(np.pi / 4.0 * 0.032**2, ATMOSPHERE, 1.0)
    assert pipes.flux[0, 1] == pytest.approx(expected, rel=5e-3)
    assert pipes.flux[0, 12] == pytest.approx(expected, rel=5e-3)


def test_no_more_than_sonic_flow_is_led_into_a_face_that_is_too_narrow() -> None:
    # Mach 0.9 has 0.9 % above the sonic area (NACA 1135, table I): no cone to half the diameter lets it through.
    shape = PipeShape(position=np.array([0.0, 0.2]), diameter=np.array([0.04, 0.02]), cells=5, friction=0.0, heat=0.0)
    rho = ATMOSPHERE / (GAS_CONSTANT * WARM)
    speed = 0.9 * np.sqrt(GAMMA * GAS_CONSTANT * WARM)
    pipes = filled(shape, rho, speed, np.full(5, ATMOSPHERE))
    predict(pipes, 0.0)
    # What the gas of the first cell is at its right face, before slopes.
    density, velocity, pressure = pipes.primitive[:3, 1] * pipes.work[FACTORS + 3 : FACTORS + 6, 1]
    assert velocity / np.sqrt(GAMMA * pressure / density) == pytest.approx(1.0, abs=1e-6)
    # Temperature of sonic flow: (1 + 0.2 M^2)/1.2 of that of the cell.
    assert pressure / (density * GAS_CONSTANT) == pytest.approx(WARM * (1.0 + 0.2 * 0.81) / 1.2, rel=1e-6)


def test_supersonic_flow_through_a_diverging_taper_follows_the_table() -> None:
    # NACA 1135, table I: Mach 1.5 at 1.17617 and 2 at 1.68750 throat areas; pressures 0.27240 and 0.12780.
    narrow = np.pi / 4.0 * 0.03**2
    shape = PipeShape(
        position=np.array([0.0, 0.1, 0.3, 0.4]),
        diameter=np.sqrt(4.0 / np.pi * narrow * np.array([1.0, 1.0, 1.6875 / 1.17617, 1.6875 / 1.17617])),
        cells=20,
        friction=0.0,
        heat=0.0,
    )
    p, rho = 0.27240 * ATMOSPHERE, 0.39498 * ATMOSPHERE / (GAS_CONSTANT * WARM)
    speed = 1.5 * np.sqrt(GAMMA * p / rho)
    pipes = filled(shape, rho, speed, np.full(20, p))
    rows = went(pipes, (held(rho, speed, p), FREE), 0.02)
    assert rows[2, -2] / ATMOSPHERE == pytest.approx(0.12780, abs=2e-5)


def test_friction_alone_gives_the_flow_of_fannos_table() -> None:
    # From Mach 0.3 to 0.5 takes 4 f L/D = 5.29925 - 1.06906 and lowers the pressure to 2.13809/3.61906 (Shapiro, The
    # Dynamics and Thermodynamics of Compressible Fluid Flow, table B.4; digits recomputed from its equations 6.20).
    # A loss that is spread over the length acts as friction of a constant factor.
    length, cells = 1.0, 50
    pipes = filled(
        straight(length, cells, bend_loss=5.29925 - 1.06906),
        ATMOSPHERE / (GAS_CONSTANT * WARM),
        0.0,
        np.full(cells, ATMOSPHERE),
    )
    inlet = 0.93947 * ATMOSPHERE
    back = inlet * 2.13809 / 3.61906
    rows = went(pipes, (room(ATMOSPHERE, WARM), room(back, WARM)), 0.1)
    expected = mass_flow(np.pi / 4.0 * 0.04**2, ATMOSPHERE, 0.3)
    np.testing.assert_allclose(pipes.flux[0, 1 : cells + 2], expected, rtol=4e-5)
    mach = rows[1] / np.sqrt(GAMMA * rows[2] / rows[0])
    # Extrapolated from the middles of the first and last cells to the ends.
    assert 1.5 * mach[0] - 0.5 * mach[1] == pytest.approx(0.3, abs=3e-5)
    assert 1.5 * mach[-1] - 0.5 * mach[-2] == pytest.approx(0.5, abs=7e-4)
    # Mach 0.4 lies where 2.30849 is left to sonic flow.
    where = np.interp(0.4, mach, centres(length, cells))
    assert where == pytest.approx((5.29925 - 2.30849) / (5.29925 - 1.06906), abs=2e-4)


# Shapiro, table B.3 (gamma 1.4): Mach number, stagnation temperature and pressure over those of the sonic state.
RAYLEIGH = np.array(
    [(0.1, 0.04678, 2.36686), (0.2, 0.17355, 2.27273), (0.3, 0.34686, 2.13144), (0.5, 0.69136, 1.77778)]
)


def rayleigh(mach: float) -> tuple[float, float]:
    """The same from the equations of the table, which is checked here at its rows (Shapiro, equations 7.9)."""
    m2 = mach**2
    pressure = 2.4 / (1.0 + GAMMA * m2)
    return m2 * pressure**2 * (1.0 + 0.2 * m2) / 1.2, pressure


def test_heat_alone_gives_the_flow_of_rayleighs_table() -> None:
    for mach, stagnation, pressure in RAYLEIGH:
        assert rayleigh(mach) == pytest.approx((stagnation, pressure), abs=1e-5)
    cells = 100
    pipes = filled(
        straight(1.0, cells, heat=2.0, wall_temperature=1100.0),
        ATMOSPHERE / (GAS_CONSTANT * WARM),
        0.0,
        np.full(cells, ATMOSPHERE),
    )
    rows = went(pipes, (room(ATMOSPHERE, WARM), room(0.9 * ATMOSPHERE, WARM)), 0.2)
    mach = rows[1] / np.sqrt(GAMMA * rows[2] / rows[0])
    stagnation = pipes.temperature[cells_of(pipes)] * (1.0 + 0.2 * mach**2)
    assert mach[-1] / mach[0] > 1.3
    first, last = rayleigh(mach[0]), rayleigh(mach[-1])
    assert stagnation[-1] / stagnation[0] == pytest.approx(last[0] / first[0], rel=1e-3)
    assert rows[2, -1] / rows[2, 0] == pytest.approx(last[1] / first[1], rel=2e-5)
    # What the walls have given is what the stream has taken: cp times the rise of stagnation temperature.
    flow = pipes.flux[0, 1]
    gained = (pipes.flux[2, cells + 1] - pipes.flux[2, 1]) / flow
    cp = GAMMA / (GAMMA - 1.0) * GAS_CONSTANT
    assert gained == pytest.approx(cp * (1.5 * stagnation[-1] - 0.5 * stagnation[-2] - WARM), rel=4e-5)


def colebrook(reynolds: float, roughness: float) -> float:
    """Friction factor by Colebrook's equation, iterated (Moody, Trans. ASME 66 (1944) 671)."""
    root = 0.02**-0.5
    for _ in range(60):
        root = -2.0 * np.log10(roughness / 3.7 + 2.51 * root / reynolds)
    return float(root**-2)


def rates(speed: float, diameter: float, roughness: float, temperature: float) -> tuple[float, float]:
    """Rates of loss and of exchange of one cell."""
    rho = ATMOSPHERE / (GAS_CONSTANT * temperature)
    return wall_rates((rho, speed, GAMMA, temperature), (1.0 / diameter, roughness / diameter, 1.0, 0.0, 1.0))


def viscosity(temperature: float) -> float:
    """U.S. Standard Atmosphere 1976, equation 51."""
    return float(1.458e-6 * temperature**1.5 / (temperature + 110.4))


# Speed, roughness, temperature; Reynolds numbers from 4,000 to 380,000 in a pipe of 40 mm.
TURBULENT = [
    *((speed, roughness, 300.0) for speed in (3.0, 10.0, 40.0, 150.0) for roughness in (1e-6, 4.5e-5, 2e-4)),
    *((speed, roughness, 1000.0) for speed in (15.0, 40.0, 150.0) for roughness in (1e-6, 4.5e-5, 2e-4)),
]


@pytest.mark.parametrize(("speed", "roughness", "temperature"), TURBULENT)
def test_friction_factor_is_near_colebrooks(speed: float, roughness: float, temperature: float) -> None:
    diameter = 0.04
    rho = ATMOSPHERE / (GAS_CONSTANT * temperature)
    reynolds = rho * speed * diameter / viscosity(temperature)
    assert reynolds > 4000.0
    loss, _ = rates(speed, diameter, roughness, temperature)
    # Deceleration by friction: du/dt = -f u^2/(2 D).
    factor = loss * 2.0 * diameter / speed
    assert factor == pytest.approx(colebrook(reynolds, roughness / diameter), rel=0.08)


def test_slow_flow_is_laminar() -> None:
    # Hagen and Poiseuille: f = 64/Re.
    loss, _ = rates(0.1, 0.04, 4.5e-5, 300.0)
    rho = ATMOSPHERE / (GAS_CONSTANT * 300.0)
    assert loss == pytest.approx(32.0 * viscosity(300.0) / (rho * 0.04**2), rel=3.1e-3)


def test_heat_follows_the_law_of_pulsating_flow() -> None:
    # Nu = 0.07 Re^0.75 (Depcik and Assanis, SAE 2002-01-0372), Prandtl number 0.7.
    speed, diameter, temperature = 60.0, 0.04, 800.0
    rho = ATMOSPHERE / (GAS_CONSTANT * temperature)
    reynolds = rho * speed * diameter / viscosity(temperature)
    cp, cv = 3.5 * GAS_CONSTANT, 2.5 * GAS_CONSTANT
    conductivity = viscosity(temperature) * cp / 0.7
    coefficient = 0.07 * reynolds**0.75 * conductivity / diameter
    expected = coefficient * 4.0 / diameter / (rho * cv)
    assert rates(speed, diameter, 4.5e-5, temperature)[1] == pytest.approx(expected, rel=1e-3)


def test_volume_of_a_cone_is_that_of_geometry() -> None:
    shape = PipeShape(position=np.array([0.0, 0.2]), diameter=np.array([0.02, 0.05]), cells=4)
    pipes = still(shape)
    volume = np.pi / 12.0 * 0.2 * (0.02**2 + 0.02 * 0.05 + 0.05**2)
    assert (pipes.geometry[AREA, 1:5] * 0.05).sum() == pytest.approx(volume, rel=1e-12)
