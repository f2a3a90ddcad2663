"""Zones of a difference: gain, loss, not decided."""

from __future__ import annotations

import numpy as np
import pytest

from pullbook.publish.zones import Sign, decided_signs, sign_zones
from pullbook.records.curve import CurveBand

NAN = float("nan")


def band(low: list[float], high: list[float]) -> CurveBand:
    return CurveBand(mean=(np.array(low) + np.array(high)) / 2, low=low, high=high)  # type: ignore[arg-type] # lists become arrays in the record


@pytest.mark.parametrize(
    ("low", "high", "signs"),
    [
        ([1.0, 0.0, -1.0, -2.0], [2.0, 1.0, 0.0, -1.0], [(Sign.GAIN, 0, 0), (Sign.OPEN, 1, 2), (Sign.LOSS, 3, 3)]),
        ([NAN, NAN], [NAN, NAN], []),
        ([1.0, NAN, 1.0], [2.0, NAN, 2.0], [(Sign.GAIN, 0, 0), (Sign.GAIN, 2, 2)]),  # a gap parts the zones
    ],
)
def test_a_band_that_touches_zero_decides_nothing(
    low: list[float], high: list[float], signs: list[tuple[Sign, int, int]]
) -> None:
    assert [(zone.sign, zone.first, zone.last) for zone in sign_zones(band(low, high))] == signs


def test_decided_signs_leave_out_what_is_open_and_repeats() -> None:
    zones = sign_zones(band([1.0, -1.0, 1.0, -3.0, -1.0], [2.0, 1.0, 2.0, -2.0, 1.0]))
    assert decided_signs(zones) == (Sign.GAIN, Sign.LOSS)
