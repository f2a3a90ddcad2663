"""Ideal cycles of a gas of constant heat capacity, gone through by the cylinder: Otto, dual, Diesel, and isentropes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from cantera_reference import gas_of
from constant_gas import constant_gas

from pullbook.gas import cylinder_settings as rows
from pullbook.gas.components import gas_table
from pullbook.gas.crank import CLEARANCE, SWEPT, crank_arrangement, cylinder_volume
from pullbook.gas.cylinder import FUEL, MASS, SEALED, advance_cylinder, cylinder_gas, fill_cylinder
from pullbook.gas.fuels import AIR, FUELS

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

FUEL_ENERGY: Final = 40e6
STEPS: Final = 1440  # a turn
NOTHING: Final = (0.0, 0.0, 0.0, 0.0)


class Cylinder:
    """One cylinder without heat to its walls, moved step by step; counts its work and what its fuel has released."""

    def __init__(self, ratio: float, table: FloatArray) -> None:
        self.crank = crank_arrangement(0.086, 0.086, 0.143, ratio)
        self.fixed = rows.cylinder_settings(1, 0.086, float(self.crank[SWEPT]), float(self.crank[CLEARANCE]))
        self.fixed[rows.HEAT_FACTOR], self.fixed[rows.FUEL_ENERGY] = 0.0, FUEL_ENERGY
        self.table = table
        self.state = np.zeros((4, 1))
        self.volume = cylinder_volume(-math.pi, self.crank)
        self.work = self.released = 0.0
        fill_cylinder(self.state, 0, (1e5, 300.0, 0.0, 0.06), self.volume, table)

    @property
    def pressure(self) -> float:
        """Pressure now. [Pa]"""
        return float(cylinder_gas(self.state, 0, self.volume, self.fixed, self.table)[0])

    @property
    def temperature(self) -> float:
        """Temperature now. [K]"""
        return float(cylinder_gas(self.state, 0, self.volume, self.fixed, self.table)[1])

    def move(self, volume: float, heat: float = 0.0) -> None:
        """One step to a volume, with this heat from the fuel. [m3, J]"""
        air = float(self.state[MASS, 0] - self.state[FUEL, 0] - self.state[2, 0])
        burnable = min(float(self.state[FUEL, 0]), air / float(self.fixed[rows.AIR_PER_FUEL, 0]))
        share = heat / (burnable * FUEL_ENERGY) if heat > 0.0 else 0.0
        assert 0.0 <= share < 1.0
        step = (self.volume, volume, 1e-5, share, SEALED)
        work, wall, released, _, _ = advance_cylinder(self.state, 0, step, NOTHING, self.fixed, self.table)
        assert wall == 0.0
        self.work, self.released, self.volume = self.work + float(work), self.released + float(released), volume

    def turn(self, first: float, last: float) -> None:
        """Turn the crank with the gas shut in. [rad]"""
        count = max(2, round(STEPS * (last - first) / (2.0 * math.pi)))
        for angle in np.linspace(first, last, count + 1)[1:].tolist():
            self.move(cylinder_volume(angle, self.crank))

    def burn(self, pressure_ratio: float, cut_off: float, gamma: float) -> None:
        """Heat at constant volume, then at constant pressure up to this ratio of volumes; the crank is at its top."""
        if pressure_ratio > 1.0:
            # e = p V/(gamma - 1) of a perfect gas.
            self.move(self.volume, (pressure_ratio - 1.0) * self.pressure * self.volume / (gamma - 1.0))
        top = self.volume
        pressure = self.pressure
        for volume in np.linspace(top, cut_off * top, 201)[1:].tolist() if cut_off > 1.0 else []:
            self.move(volume, gamma / (gamma - 1.0) * pressure * (volume - self.volume))
            assert self.pressure == pytest.approx(pressure, rel=1e-9)

    def expand(self) -> None:
        """From where it is to the bottom."""
        bottom = cylinder_volume(math.pi, self.crank)
        for volume in np.geomspace(self.volume, bottom, STEPS).tolist()[1:]:
            self.move(volume)


# Compression ratio, pressure ratio at constant volume, cut-off; efficiency
# 1 - r^(1-g) (al be^g - 1)/((al - 1) + g al (be - 1)) for gamma 1.4 (Heywood 1988, section 5.5, from memory).
CYCLES: Final = {
    "dual": (10.0, 2.0, 1.2, 0.596388),
    "dual of high compression": (16.0, 1.5, 1.8, 0.634465),
    "Diesel": (18.0, 1.0, 2.0, 0.631578),
    "Otto": (10.0, 2.5, 1.0, 0.601893),
}


@pytest.mark.parametrize("name", CYCLES)
def test_ideal_cycle_has_the_efficiency_of_its_formula(name: str) -> None:
    ratio, pressure_ratio, cut_off, efficiency = CYCLES[name]
    cylinder = Cylinder(ratio, constant_gas(1.4))
    cylinder.turn(-math.pi, 0.0)
    cylinder.burn(pressure_ratio, cut_off, 1.4)
    cylinder.expand()
    assert cylinder.work / cylinder.released == pytest.approx(efficiency, abs=4e-6)


@pytest.mark.parametrize(
    ("gamma", "pressure_ratio", "temperature_ratio"), [(1.4, 25.11886, 2.511886), (1.3, 19.95262, 1.995262)]
)
def test_expansion_without_heat_is_isentropic_and_gives_the_work_of_compression_back(
    gamma: float, pressure_ratio: float, temperature_ratio: float
) -> None:
    # r^gamma and r^(gamma - 1) for r = 10, exact.
    cylinder = Cylinder(10.0, constant_gas(gamma))
    cylinder.turn(-math.pi, 0.0)
    assert cylinder.pressure / 1e5 == pytest.approx(pressure_ratio, rel=1e-5)
    assert cylinder.temperature / 300.0 == pytest.approx(temperature_ratio, rel=1e-5)
    compression = -cylinder.work
    # Work of an isentropic compression, m cv (T2 - T1) = p V (T2/T1 - 1)/(gamma - 1).
    bottom = cylinder_volume(math.pi, cylinder.crank)
    assert compression == pytest.approx(1e5 * bottom * (temperature_ratio - 1.0) / (gamma - 1.0), rel=1e-5)
    cylinder.turn(0.0, math.pi)
    assert cylinder.pressure / 1e5 == pytest.approx(1.0, rel=1e-7)
    assert cylinder.temperature / 300.0 == pytest.approx(1.0, rel=1e-7)
    assert cylinder.work == pytest.approx(0.0, abs=1e-7 * compression)


@pytest.mark.parametrize("kelvin", [1500.0, 2400.0])
def test_expansion_of_hot_air_agrees_with_cantera(kelvin: float) -> None:
    gas = gas_of(AIR, kelvin, 50e5)
    gas.SV = gas.s, 10.0 * gas.v
    cylinder = Cylinder(10.0, gas_table(FUELS["petrol"], 0.9))
    cylinder.volume = cylinder_volume(0.0, cylinder.crank)
    fill_cylinder(cylinder.state, 0, (50e5, kelvin, 0.0, 0.0), cylinder.volume, cylinder.table)
    cylinder.turn(0.0, math.pi)
    # The same polynomials: what is left is the step.
    assert cylinder.temperature == pytest.approx(gas.T, rel=1e-5)
    assert cylinder.pressure == pytest.approx(gas.P, rel=1e-5)
