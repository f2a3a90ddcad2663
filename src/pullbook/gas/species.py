"""Thermodynamic data of the species: fits of heat capacity, enthalpy and entropy to measured and calculated values.

Each species has two sets of seven numbers, below and above 1000 K, valid from 200 to 6000 K::

    cp/R = a1 + a2 T + a3 T^2 + a4 T^3 + a5 T^4
    h/RT = a1 + a2/2 T + a3/3 T^2 + a4/4 T^3 + a5/5 T^4 + a6/T
    s/R  = a1 ln T + a2 T + a3/2 T^2 + a4/3 T^3 + a5/4 T^4 + a7

The enthalpy contains the heat of formation from the elements at 298.15 K; the entropy is that at 1 bar.

References
----------
.. [1] B. J. McBride, S. Gordon, M. A. Reno, Coefficients for Calculating Thermodynamic and Transport Properties of
   Individual Species, NASA TM-4513, 1993: the numbers, as listed there by species.
.. [2] IUPAC, Standard atomic weights 2021, abridged values, Pure Appl. Chem. 94 (2022) 573; the molar gas constant is
   exact in the SI of 2019.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "ATOMIC_WEIGHTS",
    "BREAK_TEMPERATURE",
    "MOLAR_GAS_CONSTANT",
    "SPECIES",
    "STANDARD_PRESSURE",
    "STANDARD_TEMPERATURE",
    "Species",
    "atoms_of",
    "molar_masses",
]

MOLAR_GAS_CONSTANT: Final = 8.31446261815324  # J/(mol K)
STANDARD_TEMPERATURE: Final = 298.15  # K; where sensible energies are zero and heats of formation are told
STANDARD_PRESSURE: Final = 1e5  # Pa; of the entropies
BREAK_TEMPERATURE: Final = 1000.0  # K; between the two fits of each species

ATOMIC_WEIGHTS: Final[Mapping[str, float]] = MappingProxyType(
    {"C": 12.011e-3, "H": 1.008e-3, "O": 15.999e-3, "N": 14.007e-3, "Ar": 39.95e-3}  # kg/mol
)

_Fit = tuple[float, float, float, float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """Atoms of one molecule, and the fits of its properties.

    Attributes
    ----------
    atoms : dict of str to int
        Number of atoms by element.
    low : tuple of 7 floats
        Fit from 200 to 1000 K. [powers of K]
    high : tuple of 7 floats
        Fit from 1000 to 6000 K. [powers of K]
    """

    atoms: Mapping[str, int]
    low: _Fit
    high: _Fit

    @property
    def molar_mass(self) -> float:
        """Mass of one mole. [kg/mol]."""
        return sum(ATOMIC_WEIGHTS[element] * count for element, count in self.atoms.items())


# The names are those of the formulas; C8H18 is 2,2,4-trimethylpentane (iso-octane), C7H8 toluene, C2H6O ethanol and
# CH4O methanol, all as vapours.
_DATA: Final = {
    "O2": Species(
        atoms={"O": 2},
        low=(3.78245636, -0.00299673415, 9.847302e-06, -9.68129508e-09, 3.24372836e-12, -1063.94356, 3.65767573),
        high=(3.66096083, 0.000656365523, -1.41149485e-07, 2.05797658e-11, -1.29913248e-15, -1215.97725, 3.41536184),
    ),
    "N2": Species(
        atoms={"N": 2},
        low=(3.53100528, -0.000123660987, -5.02999437e-07, 2.43530612e-09, -1.40881235e-12, -1046.97628, 2.96747468),
        high=(2.95257626, 0.00139690057, -4.92631691e-07, 7.86010367e-11, -4.60755321e-15, -923.948645, 5.87189252),
    ),
    "Ar": Species(
        atoms={"Ar": 1},
        low=(2.5, 0.0, 0.0, 0.0, 0.0, -745.375, 4.37967491),
        high=(2.5, 0.0, 0.0, 0.0, 0.0, -745.375, 4.37967491),
    ),
    "CO2": Species(
        atoms={"C": 1, "O": 2},
        low=(2.35677352, 0.00898459677, -7.12356269e-06, 2.45919022e-09, -1.43699548e-13, -48371.9697, 9.90105222),
        high=(4.63659493, 0.00274131991, -9.95828531e-07, 1.60373011e-10, -9.16103468e-15, -49024.9341, -1.93534855),
    ),
    "H2O": Species(
        atoms={"H": 2, "O": 1},
        low=(4.19864056, -0.0020364341, 6.52040211e-06, -5.48797062e-09, 1.77197817e-12, -30293.7267, -0.849032208),
        high=(2.67703787, 0.00297318329, -7.7376969e-07, 9.44336689e-11, -4.26900959e-15, -29885.8938, 6.88255571),
    ),
    "CO": Species(
        atoms={"C": 1, "O": 1},
        low=(3.57953347, -0.00061035368, 1.01681433e-06, 9.07005884e-10, -9.04424499e-13, -14344.086, 3.50840928),
        high=(3.04848583, 0.00135172818, -4.85794075e-07, 7.88536486e-11, -4.69807489e-15, -14266.1171, 6.0170979),
    ),
    "H2": Species(
        atoms={"H": 2},
        low=(2.34433112, 0.00798052075, -1.9478151e-05, 2.01572094e-08, -7.37611761e-12, -917.935173, 0.683010238),
        high=(2.93286579, 0.000826607967, -1.46402335e-07, 1.54100359e-11, -6.88804432e-16, -813.065597, -1.02432887),
    ),
    "OH": Species(
        atoms={"H": 1, "O": 1},
        low=(3.99201543, -0.00240131752, 4.61793841e-06, -3.88113333e-09, 1.3641147e-12, 3615.08056, -0.103925458),
        high=(2.83864607, 0.00110725586, -2.93914978e-07, 4.20524247e-11, -2.42169092e-15, 3943.95852, 5.84452662),
    ),
    "O": Species(
        atoms={"O": 1},
        low=(3.1682671, -0.00327931884, 6.64306396e-06, -6.12806624e-09, 2.11265971e-12, 29122.2592, 2.05193346),
        high=(2.54363697, -2.73162486e-05, -4.1902952e-09, 4.95481845e-12, -4.79553694e-16, 29226.012, 4.92229457),
    ),
    "H": Species(
        atoms={"H": 1},
        low=(2.5, 0.0, 0.0, 0.0, 0.0, 25473.6599, -0.446682853),
        high=(2.50000286, -5.65334214e-09, 3.63251723e-12, -9.1994972e-16, 7.95260746e-20, 25473.6589, -0.446698494),
    ),
    "NO": Species(
        atoms={"N": 1, "O": 1},
        low=(4.21859896, -0.00463988124, 1.10443049e-05, -9.34055507e-09, 2.80554874e-12, 9845.09964, 2.28061001),
        high=(3.26071234, 0.00119101135, -4.29122646e-07, 6.94481463e-11, -4.03295681e-15, 9921.43132, 6.36900518),
    ),
    "N": Species(
        atoms={"N": 1},
        low=(2.5, 0.0, 0.0, 0.0, 0.0, 56104.6378, 4.19390932),
        high=(2.41594293, 0.0001748906, -1.19023667e-07, 3.02262387e-11, -2.0360979e-15, 56133.7748, 4.64960986),
    ),
    "C8H18": Species(
        atoms={"C": 8, "H": 18},
        low=(0.815737338, 0.0732643959, 1.78300688e-05, -6.9358962e-08, 3.21629382e-11, -30477.2862, 24.1509994),
        high=(15.9899273, 0.055318479, -1.95267072e-05, 3.11779172e-09, -1.85312577e-13, -35875.7973, -60.1161414),
    ),
    "C7H8": Species(
        atoms={"C": 7, "H": 8},
        low=(1.611914, 0.0211188902, 8.53221453e-05, -1.32566876e-07, 5.59406109e-11, 4096.51976, 20.2973614),
        high=(12.939475, 0.0266921558, -9.68420108e-06, 1.5739214e-09, -9.46670482e-14, -677.035769, -46.7255302),
    ),
    "C2H6O": Species(
        atoms={"C": 2, "H": 6, "O": 1},
        low=(4.85868178, -0.0037400674, 6.95550267e-05, -8.86541147e-08, 3.5168443e-11, -29996.1309, 4.80192294),
        high=(6.5628977, 0.0152034264, -5.38922247e-06, 8.62150224e-10, -5.12824683e-14, -31525.7984, -9.47557644),
    ),
    "CH4O": Species(
        atoms={"C": 1, "H": 4, "O": 1},
        low=(5.71539582, -0.0152309129, 6.52441155e-05, -7.10806889e-08, 2.61352698e-11, -25642.7656, -1.50409823),
        high=(3.60134486, 0.0102430954, -3.59985517e-06, 5.72505986e-10, -3.3911764e-14, -25997.191, 4.70512253),
    ),
}
SPECIES: Final[Mapping[str, Species]] = MappingProxyType(_DATA)


def atoms_of(names: Iterable[str], element: str) -> FloatArray:
    """Number of atoms of an element in each of the species.

    Parameters
    ----------
    names : iterable of str
        The species.
    element : str
        Symbol of the element.

    Returns
    -------
    atoms : (s,) array of float
        Atoms in a molecule. [1]

    Examples
    --------
    >>> atoms_of(["CO2", "H2O"], "O")
    array([2., 1.])
    """
    return np.array([SPECIES[name].atoms.get(element, 0) for name in names], dtype=np.float64)


def molar_masses(names: Iterable[str]) -> FloatArray:
    """Mass of one mole of each of the species.

    Parameters
    ----------
    names : iterable of str
        The species.

    Returns
    -------
    masses : (s,) array of float
        Molar masses. [kg/mol]

    Examples
    --------
    >>> molar_masses(["H2O"])
    array([0.018015])
    """
    return np.array([SPECIES[name].molar_mass for name in names])
