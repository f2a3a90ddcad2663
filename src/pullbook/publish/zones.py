"""Zones: where a difference is certainly a gain, certainly a loss, or not decided."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.records.curve import CurveBand

__all__ = ["Sign", "Zone", "decided_signs", "sign_zones"]


class Sign(IntEnum):
    """What the band says."""

    LOSS = -1
    OPEN = 0
    GAIN = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """Neighbouring grid points with the same sign.

    Attributes
    ----------
    sign : Sign
        What the band says there.
    first, last : int
        Indices of its ends on the grid, both included.
    """

    sign: Sign
    first: int
    last: int


def sign_zones(band: CurveBand) -> tuple[Zone, ...]:
    """Zones of a difference from its simultaneous band, by rising speed; points without a band are left out.

    Examples
    --------
    >>> import numpy as np
    >>> from pullbook.records.curve import CurveBand
    >>> mean = np.array([-3.0, -2.0, 0.0, 2.0])
    >>> [(zone.sign.name, zone.first, zone.last) for zone in sign_zones(CurveBand(mean=mean, low=mean-1, high=mean+1))]
    [('LOSS', 0, 1), ('OPEN', 2, 2), ('GAIN', 3, 3)]
    """
    signs = np.where(band.low > 0.0, 1, np.where(band.high < 0.0, -1, 0))
    known = np.isfinite(band.low) & np.isfinite(band.high)
    zones: list[Zone] = []
    for index in np.flatnonzero(known):
        sign = Sign(int(signs[index]))
        if zones and zones[-1].sign is sign and zones[-1].last == index - 1:
            zones[-1] = Zone(sign=sign, first=zones[-1].first, last=int(index))
        else:
            zones.append(Zone(sign=sign, first=int(index), last=int(index)))
    return tuple(zones)


def decided_signs(zones: tuple[Zone, ...]) -> tuple[Sign, ...]:
    """Signs in order, without the undecided zones and without repeats."""
    signs: list[Sign] = []
    for zone in zones:
        if zone.sign is not Sign.OPEN and (not signs or signs[-1] is not zone.sign):
            signs.append(zone.sign)
    return tuple(signs)
