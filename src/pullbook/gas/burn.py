"""Burning of the charge: Wiebe function, laminar flame speed and the duration that follows from it.

Kernels raise nothing; NaN gives NaN. Angles are in radians, or in any other unit where only their ratio counts.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, TypeAlias

from pullbook.gas.compiled import kernel

if TYPE_CHECKING:
    FlameState: TypeAlias = tuple[float, float, float, float]

__all__ = [
    "ETHANOL_FLAME",
    "ISO_OCTANE_FLAME",
    "METHANOL_FLAME",
    "PETROL_FLAME",
    "burn_share",
    "duration_factor",
    "flame_speed_gulder",
    "flame_speed_keck",
    "wiebe",
]

_ATMOSPHERE: Final = 101325.0
_T0: Final = 298.0

# Selector of the fuel in the flame-speed kernels.
PETROL_FLAME = 0
ISO_OCTANE_FLAME = 1
ETHANOL_FLAME = 2
METHANOL_FLAME = 3


@kernel
def wiebe(progress: float, efficiency: float, form: float) -> float:
    r"""Burned share of the fuel after Wiebe.

    .. math:: x = 1 - \exp(-a\,y^{m+1}), \quad y = (\theta - \theta_0)/\Delta\theta

    Parameters
    ----------
    progress : float
        Angle since the start over the duration; before 0 nothing is burned. [1]
    efficiency : float
        a; 5 burns 99.3 per cent, 6.908 burns 99.9 per cent within the duration. [1]
    form : float
        m; 2 for spark ignition. [1]

    Returns
    -------
    float
        Burned share, 0 to 1. [1]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equation 9.27: a = 5, m = 2.

    Examples
    --------
    >>> round(wiebe(0.5, 5.0, 2.0), 5)
    0.46474
    """
    if progress <= 0.0:
        return 0.0
    return -math.expm1(-efficiency * progress ** (form + 1.0))


@kernel
def burn_share(before: float, after: float, efficiency: float, form: float) -> float:
    r"""Share of the fuel now left that burns in a step.

    .. math:: s = \frac{x(y_1) - x(y_0)}{x(1) - x(y_0)}

    Shares of what is left need no memory of how much there was, and give the same curve whatever the steps. It is
    Wiebe's over its value at the end of the duration, so that everything has burned there and nothing is left over for
    a jump: with a = 5 the curve is 0.7 per cent higher, and half is burned 0.2 per cent of the duration earlier.

    Parameters
    ----------
    before : float
        Progress at the start of the step. [1]
    after : float
        Progress at its end. [1]
    efficiency : float
        a of the Wiebe function. [1]
    form : float
        m of the Wiebe function. [1]

    Returns
    -------
    float
        Share, 0 before the start and after the end. [1]

    Examples
    --------
    >>> left = 1.0 - burn_share(0.0, 0.3, 5.0, 2.0)
    >>> round((1.0 - left * (1.0 - burn_share(0.3, 0.5, 5.0, 2.0))) * wiebe(1.0, 5.0, 2.0), 5)
    0.46474
    """
    if after <= 0.0 or before >= 1.0:
        return 0.0
    if after >= 1.0:
        return 1.0
    power = form + 1.0
    burned = max(before, 0.0) ** power
    # Both shares of what Wiebe has left.
    now = math.expm1(-efficiency * (after**power - burned))
    return now / math.expm1(-efficiency * (1.0 - burned))


@kernel
def flame_speed_keck(state: FlameState, fuel: int) -> float:
    r"""Laminar flame speed after Metghalchi and Keck, with the dilution of Rhodes and Keck.

    .. math:: S_L = [B_M + B_\phi(\phi-\phi_M)^2]\,(T_u/298)^{\alpha}(p/p_0)^{\beta}(1 - 2.06\,x^{0.77})

    Parameters
    ----------
    state : tuple of float
        Pressure, temperature of the unburned gas, fuel-air equivalence ratio, mole fraction of burned gas in the
        charge. [Pa, K, 1, 1]
    fuel : int
        `PETROL_FLAME`, `ISO_OCTANE_FLAME` or `METHANOL_FLAME`; ethanol was not measured by them and takes methanol's.

    Returns
    -------
    float
        Flame speed, at least 2 cm/s. [m/s]

    Notes
    -----
    Measured to 700 K and 50 bar, equivalence ratios 0.7 to 1.4 and diluents to 30 per cent; +-10 per cent there.

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equations 9.33 to 9.37, tables 9.2 and 9.3
       (from memory).
    .. [2] D. B. Rhodes, J. C. Keck, "Laminar burning speed measurements of indolene-air-diluent mixtures at high
       pressures and temperatures", SAE paper 850047, 1985 (from memory).

    Examples
    --------
    >>> round(flame_speed_keck((101325.0, 298.0, 1.21, 0.0), PETROL_FLAME), 3)
    0.305
    """
    pressure, temperature, phi, burned = state
    alpha, beta = 2.18 - 0.8 * (phi - 1.0), -0.16 + 0.22 * (phi - 1.0)
    if fuel == PETROL_FLAME:
        reference = 0.305 - 0.549 * (phi - 1.21) ** 2
        alpha, beta = 2.4 - 0.271 * phi**3.51, -0.357 + 0.14 * phi**2.77
    elif fuel == ISO_OCTANE_FLAME:
        reference = 0.263 - 0.847 * (phi - 1.13) ** 2
    else:
        reference = 0.369 - 1.405 * (phi - 1.11) ** 2
    diluted = 1.0 - 2.06 * max(burned, 0.0) ** 0.77
    speed = float(reference * (temperature / _T0) ** alpha * (pressure / _ATMOSPHERE) ** beta * diluted)
    return max(speed, 0.02)


@kernel
def flame_speed_gulder(state: FlameState, fuel: int) -> float:
    r"""Laminar flame speed after Gulder.

    .. math:: S_L = W\phi^{\eta}e^{-\xi(\phi-1.075)^2}\,(T_u/300)^{\alpha}(p/10^5)^{\beta}(1 - 2.1\,x)

    Parameters
    ----------
    state : tuple of float
        Pressure, temperature of the unburned gas, fuel-air equivalence ratio, mole fraction of burned gas in the
        charge. [Pa, K, 1, 1]
    fuel : int
        `ISO_OCTANE_FLAME`, `ETHANOL_FLAME` or `METHANOL_FLAME`; petrol takes iso-octane's.

    Returns
    -------
    float
        Flame speed, at least 2 cm/s. [m/s]

    References
    ----------
    .. [1] O. L. Gulder, "Correlations of laminar combustion data for alternative S.I. engine fuels",
       SAE paper 841000, 1984 (from memory).

    Examples
    --------
    >>> round(flame_speed_gulder((1e5, 300.0, 1.075, 0.0), ISO_OCTANE_FLAME), 3)
    0.455
    """
    pressure, temperature, phi, burned = state
    scale, eta, xi, alpha, beta = 0.4658, -0.326, 4.48, 1.56, -0.22
    if fuel == ETHANOL_FLAME:
        scale, eta, xi, alpha, beta = 0.465, 0.25, 6.34, 1.75, -0.17 / phi**0.5
    elif fuel == METHANOL_FLAME:
        scale, eta, xi, alpha, beta = 0.492, 0.25, 5.11, 1.75, -0.2 / phi**0.5
    reference = scale * phi**eta * math.exp(-xi * (phi - 1.075) ** 2)
    speed = float(reference * (temperature / 300.0) ** alpha * (pressure / 1e5) ** beta * (1.0 - 2.1 * burned))
    return max(speed, 0.02)


@kernel
def duration_factor(flame_speed: float, piston_speed: float, kinematic_viscosity: float, turbulence: float) -> float:
    r"""Burn duration in crank angle over that of a reference state, after Hires, Tabaczynski and Novak.

    .. math:: \frac{\Delta\theta}{\Delta\theta_r} =
        \left(\frac{S_p}{S_{pr}}\right)^{1/3}\left(\frac{\nu}{\nu_r}\right)^{1/3}
        \left(\frac{S_{Lr}}{S_L}\right)^{2/3} t^{-2/3}

    All four arguments are ratios to the reference. The burning time of an eddy is its microscale over the flame
    speed; with fluctuations proportional to the piston speed, time falls with speed to the power 2/3 and the angle
    grows with the power 1/3. t is the ratio of fluctuations at equal piston speed.

    Parameters
    ----------
    flame_speed : float
        Laminar flame speed over that of the reference. [1]
    piston_speed : float
        Mean piston speed over that of the reference. [1]
    kinematic_viscosity : float
        Of the unburned gas, over that of the reference. [1]
    turbulence : float
        Velocity fluctuation over piston speed, over that of the reference. [1]

    Returns
    -------
    float
        Factor on the duration, delay and main burn alike. [1]

    References
    ----------
    .. [1] S. D. Hires, R. J. Tabaczynski, J. M. Novak, "The prediction of ignition delay and combustion intervals for
       a homogeneous charge, spark ignition engine", SAE paper 780232, 1978 (from memory; chamber height held).

    Examples
    --------
    >>> round(duration_factor(1.0, 8.0, 1.0, 1.0), 6)
    2.0
    """
    return float((piston_speed * kinematic_viscosity / (flame_speed * turbulence) ** 2) ** (1.0 / 3.0))
