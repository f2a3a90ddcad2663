"""The data of the species."""

from __future__ import annotations

import numpy as np
import pytest
from cantera_reference import ideal_gas

from pullbook.gas.molar import enthalpies, entropies, heat_capacities
from pullbook.gas.species import ATOMIC_WEIGHTS, MOLAR_GAS_CONSTANT, SPECIES, atoms_of, molar_masses

TEMPERATURES = (200.0, 298.15, 650.0, 999.0, 1001.0, 1800.0, 3500.0, 5900.0)
R = MOLAR_GAS_CONSTANT


@pytest.mark.parametrize("name", SPECIES)
def test_every_species_has_the_properties_that_cantera_reads_from_nasas_file(name: str) -> None:
    # Cantera 3.2, nasa_gas.yaml (NASA TM-4513).
    gas = ideal_gas(name)
    for kelvin in TEMPERATURES:
        gas.TP = kelvin, 1e5
        assert heat_capacities([name], kelvin)[0] == pytest.approx(float(gas.standard_cp_R[0]), rel=1e-9)
        assert enthalpies([name], kelvin)[0] == pytest.approx(float(gas.standard_enthalpies_RT[0]), rel=1e-9, abs=1e-9)
        assert entropies([name], kelvin)[0] == pytest.approx(float(gas.standard_entropies_R[0]), rel=1e-9)


# CODATA key values for thermodynamics (Cox, Wagman, Medvedev 1989; from memory): kJ/mol and J/(mol K) at 1 bar.
@pytest.mark.parametrize(
    ("name", "formation", "entropy"),
    [
        ("O2", 0.0, 205.152),
        ("N2", 0.0, 191.609),
        ("CO2", -393.51, 213.785),
        ("H2O", -241.826, 188.835),
        ("CO", -110.53, 197.660),
        ("H2", 0.0, 130.680),
    ],
)
def test_heats_of_formation_and_entropies_are_those_of_codata(name: str, formation: float, entropy: float) -> None:
    assert enthalpies([name], 298.15)[0] * R * 298.15 / 1e3 == pytest.approx(formation, abs=0.03)
    assert entropies([name], 298.15)[0] * R == pytest.approx(entropy, abs=0.03)


@pytest.mark.parametrize("name", SPECIES)
def test_the_two_fits_of_a_species_meet_at_1000_kelvin(name: str) -> None:
    below, above = (
        np.array([f([name], t)[0] for f in (heat_capacities, enthalpies, entropies)]) for t in (1000.0, 1000.0 + 1e-9)
    )
    assert below == pytest.approx(above, rel=2e-5)


def test_masses_and_atoms_are_those_of_the_formula() -> None:
    assert molar_masses(["C8H18"])[0] == pytest.approx(8 * ATOMIC_WEIGHTS["C"] + 18 * ATOMIC_WEIGHTS["H"], rel=1e-15)
    # Molar mass of iso-octane 114.23 g/mol, ethanol 46.07 (NIST WebBook, from memory).
    assert molar_masses(["C8H18", "C2H6O"]) * 1e3 == pytest.approx([114.23, 46.07], abs=0.005)
    assert list(atoms_of(["C2H6O", "CO2", "Ar"], "O")) == [1.0, 2.0, 0.0]
