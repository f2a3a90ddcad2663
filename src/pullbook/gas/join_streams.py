"""One stream of a join: what its pipe's face has at a pressure of the merge plane, arriving or leaving.

The rows that become fluxes hold, until then, what the iteration knows of each pipe: pressure, speed towards the join
and density at its face, how its pressure rises and how its speed falls with the pressure of the merge plane.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.gas.compiled import row_kernel
from pullbook.gas.end_waves import behind_wave, sonic_end
from pullbook.gas.join_mixing import JOIN_STAGNATION, leaving_pressure

if TYPE_CHECKING:
    from pullbook.gas.end_waves import Inside
    from pullbook.quantities.arrays import FloatArray

__all__ = ["DENSITY", "EASE", "FACE", "SHARE", "SPEED", "arrive", "leave", "state_of"]

FACE: Final = 0
SPEED: Final = 1
DENSITY: Final = 2
SHARE: Final = 3
EASE: Final = 4

# A step of the speed that small, in parts of the speed of sound, ends a search; what is left is its square.
_SMALL_SPEED: Final = 1e-5


@row_kernel
def state_of(inside: FloatArray, i: int) -> Inside:
    """One row of states as a tuple.

    Parameters
    ----------
    inside : (n, 7) array of float
        Last states of the pipes. [SI]
    i : int
        Row.

    Returns
    -------
    state : tuple of float
        That row. [SI]

    Examples
    --------
    >>> import numpy as np
    >>> float(state_of(np.array([[1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0]]), 0)[2])
    100000.0
    """
    return (inside[i, 0], inside[i, 1], inside[i, 2], inside[i, 3], inside[i, 4], inside[i, 5], inside[i, 6])


@row_kernel
def arrive(i: int, inside: FloatArray, pressure: float, model: int, work: FloatArray) -> float:
    """Write the state at the face of a pipe whose gas arrives.

    Parameters
    ----------
    i : int
        Pipe.
    inside : (n, 7) array of float
        Last states of the pipes. [SI]
    pressure : float
        Pressure of the merge plane. [Pa]
    model : int
        Model of the join.
    work : (n, 5) array of float
        Row `i` is written. [SI]

    Returns
    -------
    slope : float
        How the mass flow per area falls with the pressure of the merge plane. [kg/s/m2/Pa]

    Examples
    --------
    >>> import numpy as np
    >>> work = np.zeros((1, 5))
    >>> arrive(0, np.array([[1.2, 10.0, 1e5, 1.4, 0.0, 0.0, 0.0]]), 1e5, 0, work) > 0.0, float(work[0, SPEED])
    (True, 10.0)
    """
    rho, u, p, gamma = inside[i, 0], inside[i, 1], inside[i, 2], inside[i, 3]
    change, density, sound, ease = behind_wave(pressure, rho, p, gamma)
    speed = max(u - change, 0.0)
    face, share = pressure, 1.0
    if model == JOIN_STAGNATION:
        # The face stands below the common stagnation pressure by the stream's own head.
        expansion = gamma / (gamma - 1.0)
        low, high = 0.3 * pressure, pressure
        for _ in range(40):
            head = math.pow(1.0 + 0.5 * (gamma - 1.0) * speed * speed / (sound * sound), expansion)
            share = 1.0 / (head * max(1.0 - speed / sound, 0.05))
            excess = face * head - pressure
            if excess > 0.0 and speed < sound:
                high = face
            else:
                low = face
            following = face - excess * share
            if not low < following < high:
                following = 0.5 * (low + high)
            step = following - face
            face = following
            change, density, sound, ease = behind_wave(face, rho, p, gamma)
            speed = max(u - change, 0.0)
            if abs(step) < 1e-9 * pressure:
                break
    if speed > sound:
        face, density, speed = sonic_end(state_of(inside, i))
        sound = speed
    work[i, FACE], work[i, SPEED], work[i, DENSITY] = face, speed, density
    work[i, SHARE], work[i, EASE] = share, ease * share
    return float(density * ease * share * (1.0 - speed / sound))


@row_kernel
def leave(i: int, inside: FloatArray, pressure: float, mixed: tuple[float, float, float], work: FloatArray) -> float:
    """Write the state at the face of a pipe that takes mixed gas away.

    Parameters
    ----------
    i : int
        Pipe.
    inside : (n, 7) array of float
        Last states of the pipes. [SI]
    pressure : float
        Pressure of the merge plane. [Pa]
    mixed : tuple of float
        Mixed gas: stagnation enthalpy without offset, gamma, and the speed that it brings along this pipe (negative:
        the face has the merge plane's pressure). [J/kg, 1, m/s]
    work : (n, 5) array of float
        Row `i` is written; the speed is searched from the one found there, if that is negative. [SI]

    Returns
    -------
    slope : float
        How the mass flow per area grows with the pressure of the merge plane. [kg/s/m2/Pa]

    Examples
    --------
    >>> import numpy as np
    >>> work = np.zeros((1, 5))
    >>> still = np.array([[1.2, 0.0, 1e5, 1.4, 0.0, 0.0, 0.0]])
    >>> leave(0, still, 1.01e5, (3e5, 1.4, -1.0), work) > 0.0, bool(work[0, SPEED] < 0.0)
    (True, True)
    """
    rho, u, p, own_gamma = inside[i, 0], inside[i, 1], inside[i, 2], inside[i, 3]
    stagnation, gamma, carried = mixed
    fraction = (gamma - 1.0) / gamma
    fastest = math.sqrt(2.0 * (gamma - 1.0) / (gamma + 1.0) * stagnation)
    stiffness = math.sqrt(own_gamma * p * rho)
    # A dense fast stream into a thin gas could hold itself up at several speeds: kept where there is but one.
    carried = min(carried, fastest, 0.9 * stiffness * fraction * stagnation / pressure)
    low, high = 0.0, fastest
    speed = min(max(-work[i, SPEED], 0.0), fastest)
    face, density = pressure, rho
    ease, slope, lever = 0.0, 1.0, 0.0
    for _ in range(40):
        face = pressure if carried < 0.0 else leaving_pressure(speed, pressure, carried, stagnation, gamma)
        change, _, sound, ease = behind_wave(face, rho, p, own_gamma)
        excess = speed + u - change
        if excess > 0.0:
            high = speed
        else:
            low = speed
        density = face / (fraction * (stagnation - 0.5 * speed * speed))
        lever = 0.0
        if carried >= 0.0:
            lever = density * (2.0 * speed - carried if speed < carried else speed)
        slope = max(1.0 + lever * ease, 0.2)
        if excess <= 0.0 and speed >= fastest:
            # Sonic: the pressure no longer changes the speed.
            ease = 0.0
            break
        following = min(speed - excess / slope, fastest)
        if not low <= following <= high:
            following = 0.5 * (low + high)
        step = following - speed
        speed = following
        if abs(step) <= _SMALL_SPEED * sound and speed < fastest:
            face -= lever * step
            density = face / (fraction * (stagnation - 0.5 * speed * speed))
            break
    share = 1.0 - lever * ease / slope
    denser = share / face + speed * ease / slope / (stagnation - 0.5 * speed * speed)
    work[i, SHARE] = share
    work[i, FACE], work[i, SPEED], work[i, DENSITY], work[i, EASE] = face, -speed, density, ease / slope
    return float(density * (ease / slope + speed * denser))
