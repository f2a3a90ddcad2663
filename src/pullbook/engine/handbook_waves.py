"""Rules of the trade about waves: round trips, quarter waves, resonators and Engelman's ram.

Each is the resonance of an idealised pipe, to be set beside the computed engine.
"""

from __future__ import annotations

import math

__all__ = [
    "engelman_speed",
    "helmholtz_frequency",
    "length_of_round_trip",
    "quarter_wave_frequency",
    "round_trip_deg",
    "speed_of_order",
]


def round_trip_deg(length: float, sound_speed: float, speed_rpm: float) -> float:
    r"""Crank angle that a wave takes to the end of a pipe and back, :math:`\theta = 12\,n L/a`.

    Parameters
    ----------
    length : float
        One way. [m]
    sound_speed : float
        Mean along the pipe. [m/s]
    speed_rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Crank angle. [deg]
    """
    return 12.0 * speed_rpm * length / sound_speed


def length_of_round_trip(angle_deg: float, sound_speed: float, speed_rpm: float) -> float:
    """Length of a pipe whose end answers after a crank angle.

    Parameters
    ----------
    angle_deg : float
        Crank angle there and back. [deg]
    sound_speed : float
        Mean along the pipe. [m/s]
    speed_rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Length, one way. [m]
    """
    return angle_deg * sound_speed / (12.0 * speed_rpm)


def quarter_wave_frequency(length: float, sound_speed: float, end_correction: float = 0.0) -> float:
    """Lowest frequency of a pipe closed at one end.

    Parameters
    ----------
    length : float
        Length. [m]
    sound_speed : float
        Sound speed. [m/s]
    end_correction : float
        Added at the open end: 0.6133 radii unflanged, 0.8217 flanged. [m]

    Returns
    -------
    float
        Frequency. [Hz]
    """
    return sound_speed / (4.0 * (length + end_correction))


def speed_of_order(frequency: float, order: float) -> float:
    """Engine speed at which a pipe rings a number of times a cycle.

    Parameters
    ----------
    frequency : float
        Of the pipe. [Hz]
    order : float
        Periods a cycle; ram is good near 3, 4 and 5. [1]

    Returns
    -------
    float
        Engine speed. [rpm]
    """
    return 120.0 * frequency / order


def helmholtz_frequency(area: float, length: float, volume: float, sound_speed: float) -> float:
    r"""Frequency of a volume with a neck, :math:`f = \frac{a}{2\pi}\sqrt{A/(L V)}`.

    Parameters
    ----------
    area : float
        Cross-section of the neck. [m2]
    length : float
        Length of the neck, end corrections added. [m]
    volume : float
        Volume. [m3]
    sound_speed : float
        Sound speed. [m/s]

    Returns
    -------
    float
        Frequency. [Hz]
    """
    return sound_speed / (2.0 * math.pi) * math.sqrt(area / (length * volume))


def engelman_speed(
    area: float, length: float, cylinder_volume: float, compression_ratio: float, sound_speed: float, ratio: float = 2.1
) -> float:
    r"""Engine speed of best ram by Engelman: runner and half-open cylinder as a Helmholtz resonator.

    .. math:: n = \frac{60}{K} f, \quad V = \tfrac12 V_d\,\frac{R+1}{R-1}

    Parameters
    ----------
    area : float
        Cross-section of the runner. [m2]
    length : float
        Length of the runner. [m]
    cylinder_volume : float
        Swept volume of one cylinder. [m3]
    compression_ratio : float
        Compression ratio R. [1]
    sound_speed : float
        Sound speed in the runner. [m/s]
    ratio : float
        K, frequency of the resonator over that of the engine's revolutions; 2.0 to 2.5. [1]

    Returns
    -------
    float
        Engine speed. [rpm]

    References
    ----------
    .. [1] H. W. Engelman, "Design of a tuned intake manifold", ASME paper 73-WA/DGP-2, 1973 (from memory).
    """
    volume = 0.5 * cylinder_volume * (compression_ratio + 1.0) / (compression_ratio - 1.0)
    return 60.0 / ratio * helmholtz_frequency(area, length, volume, sound_speed)
