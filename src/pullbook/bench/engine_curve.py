"""The invented engine of the demo: full-load torque as a smooth formula of speed and parts.

No engine was measured for this and none is meant. The formula has the shape that practice expects (intake
runners that help near their tuned speed, a header that ripples, a camshaft that trades the bottom for the top)
so that the demo session has true differences which are known exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["DISPLACEMENT", "Header", "Setup", "full_load_torque", "tuned_speed", "volumetric_efficiency"]

DISPLACEMENT: Final = 2.2e-3  # m3, four cylinders
_PORT_LENGTH: Final = 0.090  # m, from the runner flange to the valve
_RUNNER_RADIUS: Final = 0.022  # m
_UNFLANGED_END: Final = 0.6133  # end correction of an open pipe in radii (Levine and Schwinger 1948)
_INLET_SOUND_SPEED: Final = 345.0  # m/s, air at about 23 degC
_EXHAUST_SOUND_SPEED: Final = 520.0  # m/s, exhaust gas in the primaries
_PULSES_PER_CYCLE: Final = 5.0  # the pipe rings five times a cycle at the tuned speed
_MEAN_PRESSURE: Final = 14.0e5  # Pa, indicated, at a volumetric efficiency of 1


class Header(StrEnum):
    """Exhaust header."""

    FOUR_ONE = "4-1"
    FOUR_TWO_ONE = "4-2-1"


# Share of the ripple and length from the valve to each place where the exhaust wave turns round. [1, m]
_REFLECTIONS: Final = {
    Header.FOUR_ONE: ((1.0, 0.839),),
    Header.FOUR_TWO_ONE: ((0.3, 0.50), (0.7, 1.25)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """Parts on the invented engine.

    Attributes
    ----------
    runner_length : float
        Length of the intake runners, without the port. [m]
    header : Header
        Exhaust header.
    inlet_advance_deg : float
        Advance of the inlet camshaft from straight up. [deg]
    """

    runner_length: float
    header: Header
    inlet_advance_deg: float


def tuned_speed(runner_length: float) -> float:
    r"""Engine speed at which an intake runner helps most.

    .. math::
        n = \frac{120}{q} \cdot \frac{a}{4 (L + L_{port} + 0.6133\, r)}, \qquad q = 5

    Parameters
    ----------
    runner_length : float
        Length of the runner, without the port. [m]

    Returns
    -------
    speed_rpm : float
        Tuned speed. [rpm]

    Notes
    -----
    The quarter-wave rule of practice; real tuning depends on valve timing as well. Good enough for an invention.

    References
    ----------
    .. [1] H. Levine, J. Schwinger, "On the radiation of sound from an unflanged circular pipe", Physical Review
       73, 1948, p. 383, abstract (end correction). The quarter-wave rule is from memory of common practice.

    Examples
    --------
    >>> round(tuned_speed(0.340)), round(tuned_speed(0.260))
    (4667, 5695)
    """
    length = runner_length + _PORT_LENGTH + _UNFLANGED_END * _RUNNER_RADIUS
    return 120.0 / _PULSES_PER_CYCLE * _INLET_SOUND_SPEED / (4.0 * length)


def volumetric_efficiency(speed_rpm: FloatArray, setup: Setup) -> FloatArray:
    r"""Volumetric efficiency of the invented engine at full load.

    .. math::
        \eta = 0.99 - 0.11 \Big(\frac{n - 4800}{2700}\Big)^2
             + 0.075\, e^{-\frac12 \left(\frac{n - n_r}{800}\right)^2}
             + 0.022\, g \sum_k w_k \cos\frac{2\pi (\theta_k - 120)}{160}
             + 0.012\, \frac{\phi}{4} \tanh\frac{4700 - n}{1300}

    with the tuned speed :math:`n_r` of the runners, the delay :math:`\theta_k = 12 n L_k / a` of the exhaust
    wave in degrees of crank angle, the camshaft advance :math:`\phi` in degrees, and :math:`g = 1 + 0.02 \phi`
    because more overlap lets the header do more.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    setup : Setup
        Parts.

    Returns
    -------
    efficiency : (n,) array of float
        Volumetric efficiency with respect to the reference air of SAE J1349. [1]

    Notes
    -----
    Valid from 1,500 to 7,500 rpm as an invention; there is nothing to be accurate to.

    Examples
    --------
    >>> import numpy as np
    >>> setup = Setup(runner_length=0.340, header=Header.FOUR_ONE, inlet_advance_deg=0.0)
    >>> volumetric_efficiency(np.array([2500.0, 4700.0, 6500.0]), setup).round(3).tolist()
    [0.891, 1.074, 0.973]
    """
    base = 0.99 - 0.11 * ((speed_rpm - 4800.0) / 2700.0) ** 2
    runner = 0.075 * np.exp(-0.5 * ((speed_rpm - tuned_speed(setup.runner_length)) / 800.0) ** 2)
    ripple = np.zeros_like(base)
    for share, length in _REFLECTIONS[setup.header]:
        delay_deg = 12.0 * speed_rpm * length / _EXHAUST_SOUND_SPEED
        ripple = ripple + share * np.cos(2.0 * np.pi * (delay_deg - 120.0) / 160.0)
    header = 0.022 * (1.0 + 0.02 * setup.inlet_advance_deg) * ripple
    camshaft = 0.012 * setup.inlet_advance_deg / 4.0 * np.tanh((4700.0 - speed_rpm) / 1300.0)
    return np.asarray(base + runner + header + camshaft, dtype=np.float64)


def full_load_torque(speed_rpm: FloatArray, setup: Setup) -> FloatArray:
    r"""Brake torque of the invented engine at full load, steady speed and the reference air of SAE J1349.

    .. math::
        T = \frac{V}{4\pi} \Big(14.0\,\mathrm{bar} \cdot \eta
            - \big[0.8 + 0.12 x + 0.035 x^2\big]\,\mathrm{bar}\Big), \qquad x = n / 1000

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed. [rpm]
    setup : Setup
        Parts.

    Returns
    -------
    torque : (n,) array of float
        Torque at the crank. [N m]

    Notes
    -----
    The square bracket is a friction mean effective pressure of the usual shape with invented coefficients.

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, sections 2.7 and 13.6 (torque from mean
       effective pressure, friction as a polynomial of speed); from memory.

    Examples
    --------
    >>> import numpy as np
    >>> setup = Setup(runner_length=0.340, header=Header.FOUR_ONE, inlet_advance_deg=0.0)
    >>> full_load_torque(np.array([2500.0, 4700.0, 6500.0]), setup).round(1).tolist()
    [195.4, 225.8, 185.0]
    """
    thousands = speed_rpm / 1000.0
    friction = (0.8 + 0.12 * thousands + 0.035 * thousands**2) * 1e5
    brake = _MEAN_PRESSURE * volumetric_efficiency(speed_rpm, setup) - friction
    return np.asarray(DISPLACEMENT / (4.0 * np.pi) * brake, dtype=np.float64)
