r"""Cam lobes: designed from durations at a few lifts, or measured, and what they do.

A designed lobe is symmetric about its nose:

.. math:: L(\theta) = \hat L\,\left(1 - |\theta/w|^p\right)^q

Three durations fix the half-width w and both exponents; p decides how blunt the nose is, q how soft the flanks meet the
base circle. Lobes as they are ground have p near 2.2 and q between 2 and 3. A formula with fewer free numbers cannot
meet a seat duration and an 0.050 in duration without becoming a cusp that loses a quarter of the area.

Angles are crank degrees from the nose, whatever the lobe turns at; lifts are at the tappet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.lobe import STEP_DEG, Lobe
from pullbook.engine.monotone import monotone_curve
from pullbook.errors import OutOfRangeError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray

__all__ = ["USUAL_BLUNTNESS", "USUAL_SOFTNESS", "design_lobe"]

USUAL_BLUNTNESS: Final = 2.2  # p, where fewer than three durations are known
USUAL_SOFTNESS: Final = 2.3  # q, where only one duration is known
_SOFTNESS_RANGE: Final = (1.2, 8.0)
_BLUNTNESS_RANGE: Final = (1.2, 6.0)
_CLOSE_DEG: Final = 0.3  # to which given durations are met
_MOST_DURATIONS: Final = 4
_WIDEST_DEG: Final = 400.0
_NO_LOBE: Final = "no smooth lobe has these durations"
_NO_LOBE_REMEDY: Final = "check at which lift each duration was read, or give the measured lift table"


def design_lobe(peak_lift: float, durations_deg: Mapping[float, float]) -> Lobe:
    r"""Lobe that has given durations at given lifts.

    From :math:`\ln(D_i/2) = \ln w + \frac1p \ln[1-(L_i/\hat L)^{1/q}]`, which is linear but for q. With three
    durations q makes the line pass through all three; with four it makes the line pass as near as it can, and the rest
    is made up by a smooth change of width. With two, p is 2.2; with one, q is 2.3 as well, and the lobe says so.

    Parameters
    ----------
    peak_lift : float
        Lobe lift at the nose, before rocker and lash. [m]
    durations_deg : mapping of float to float
        Duration by lobe lift, one to four of them: seat (0.006 in or what the card names), 0.050 in or 1 mm,
        0.200 in. [m to crank deg]

    Returns
    -------
    Lobe
        The lobe; durations are met within 0.3 deg.

    Raises
    ------
    OutOfRangeError
        If the durations do not fall with lift, lie above the nose, or belong to no smooth lobe.

    Examples
    --------
    >>> lobe = design_lobe(7.7e-3, {0.1524e-3: 262.0, 1.27e-3: 218.0, 5.08e-3: 125.0})
    >>> round(float(np.interp(109.0, lobe.angle_deg, lobe.lift)) * 1e3, 2)
    1.27
    """
    lifts, halves = _checked(peak_lift, durations_deg)
    relative = lifts / peak_lift
    softness, assumed = _softness(relative, halves)
    bluntness = float(_lines(relative, halves, np.array([softness]))[0][0]) if lifts.size > 2 else USUAL_BLUNTNESS
    if not _BLUNTNESS_RANGE[0] <= bluntness <= _BLUNTNESS_RANGE[1]:
        raise _no_lobe(durations_deg)
    shape = (1.0 - relative ** (1.0 / softness)) ** (1.0 / bluntness)
    widths = halves / shape
    fine = np.linspace(0.0, 1.0, 4001)  # (L / peak)^(1/q) from the base circle to the nose
    half = _widths(fine, relative ** (1.0 / softness), widths) * (1.0 - fine) ** (1.0 / bluntness)
    if np.any(np.diff(half) >= 0.0):
        raise _no_lobe(durations_deg)
    reach = STEP_DEG * np.ceil(half[0] / STEP_DEG)
    angle = np.arange(-reach, reach + 0.5 * STEP_DEG, STEP_DEG)
    root = np.interp(np.abs(angle), half[::-1], fine[::-1], right=0.0)
    lobe = Lobe(angle_deg=angle, lift=peak_lift * root**softness, assumed=assumed)
    _hold_to(lobe, lifts, 2.0 * halves)
    return lobe


def _checked(peak_lift: float, durations_deg: Mapping[float, float]) -> tuple[FloatArray, FloatArray]:
    """Lifts that rise, and half durations that fall."""
    if not 1 <= len(durations_deg) <= _MOST_DURATIONS:
        raise OutOfRangeError("a lobe takes one to four durations", value=str(len(durations_deg)))
    lifts = np.array(sorted(durations_deg))
    durations = np.array([durations_deg[lift] for lift in sorted(durations_deg)])
    if not (np.isfinite(lifts).all() and lifts[0] > 0.0 and lifts[-1] < peak_lift):
        raise OutOfRangeError("durations belong to lifts between zero and the nose", value=_shown(durations_deg))
    if not (np.isfinite(durations).all() and durations[-1] > 0.0 and durations[0] <= _WIDEST_DEG):
        raise OutOfRangeError(f"durations lie between 0 and {_WIDEST_DEG:g} deg", value=_shown(durations_deg))
    if np.any(np.diff(durations) >= 0.0):
        raise OutOfRangeError("durations fall as the lift rises", value=_shown(durations_deg))
    return lifts, np.asarray(0.5 * durations)


def _lines(relative: FloatArray, halves: FloatArray, softness: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Bluntness, and how far the durations miss one width, for each softness. [1, 1]."""
    across = np.log1p(-(relative[:, None] ** (1.0 / softness)))
    along = np.log(halves)[:, None]
    # Straight lines by least squares.
    across -= across.mean(axis=0)
    along = along - along.mean()
    slope = (across * along).sum(axis=0) / (across * across).sum(axis=0)
    misses = along - slope * across
    # Signed by the curvature, so that it passes through zero where three durations fit.
    return 1.0 / slope, misses[1:-1].mean(axis=0) if halves.size > 2 else np.zeros(softness.shape)


def _softness(relative: FloatArray, halves: FloatArray) -> tuple[float, tuple[str, ...]]:
    """Exponent q, and what was assumed for it."""
    if halves.size == 1:
        return USUAL_SOFTNESS, ("shape of the lobe (only one duration is known)",)
    tried = np.linspace(*_SOFTNESS_RANGE, 1361)
    if halves.size == 2:
        across = np.log1p(-(relative[:, None] ** (1.0 / tried)))
        misses = (across[0] - across[1]) / USUAL_BLUNTNESS - np.log(halves[0] / halves[1])
        assumed: tuple[str, ...] = ("bluntness of the nose (no duration at high lift is known)",)
    else:
        misses = _lines(relative, halves, tried)[1]
        assumed = ()
    change = np.flatnonzero(misses[:-1] * misses[1:] <= 0.0)
    if not change.size:
        if halves.size == 2:
            two = ", ".join(
                f"{2.0 * half:g} deg at {share:.3g} of the lift" for share, half in zip(relative, halves, strict=True)
            )
            raise OutOfRangeError(_NO_LOBE, value=two, remedy=_NO_LOBE_REMEDY)
        return float(tried[np.abs(misses).argmin()]), assumed
    i = int(change[0])
    return float(tried[i] + (tried[i + 1] - tried[i]) * misses[i] / (misses[i] - misses[i + 1])), assumed


def _widths(root: FloatArray, at: FloatArray, widths: FloatArray) -> FloatArray:
    """Half-width over the root of the lift: through the given ones, level beyond them."""
    if widths.size == 1 or np.ptp(widths) < 1e-9 * widths[0]:
        return np.full(root.shape, widths[0])
    x, y = np.concatenate([[0.0], at, [1.0]]), np.concatenate([widths[:1], widths, widths[-1:]])
    return monotone_curve(x, y, root)


def _hold_to(lobe: Lobe, lifts: FloatArray, durations: FloatArray) -> None:
    rising = lobe.angle_deg <= 0.0
    found = -2.0 * np.interp(lifts, lobe.lift[rising], lobe.angle_deg[rising])
    if np.any(np.abs(found - durations) > _CLOSE_DEG):
        raise _no_lobe(dict(zip(lifts.tolist(), durations.tolist(), strict=True)))


def _no_lobe(durations_deg: Mapping[float, float]) -> OutOfRangeError:
    return OutOfRangeError(_NO_LOBE, value=_shown(durations_deg), remedy=_NO_LOBE_REMEDY)


def _shown(durations_deg: Mapping[float, float]) -> str:
    return ", ".join(f"{duration:g} deg at {lift * 1e3:g} mm" for lift, duration in sorted(durations_deg.items()))
