"""What slow volumes are still to go through: told by a few cycles, feared before that."""

from __future__ import annotations

import numpy as np
import pytest

from pullbook.engine.slow_volumes import SlowVolumes
from pullbook.gas.engine_arrays import LAST_TEMPERATURE, VOLUME_ROWS, Volumes

SCALE = 730.0 * 300.0  # J/kg, of 300 K


def drifts(specific: list[float]) -> list[float]:
    """Drift noted after each of some cycles of one volume of 1 g."""
    settings = np.zeros((VOLUME_ROWS, 1))
    settings[LAST_TEMPERATURE] = 300.0
    slow = SlowVolumes()
    found = []
    for one in specific:
        state = np.array([[1e-3], [1e-3 * one * SCALE], [0.0], [0.0]])
        found.append(slow.note(Volumes(state=state, settings=settings, heat=np.zeros(1))))
    return found


def test_a_volume_whose_series_is_not_told_yet_is_feared_to_be_slow() -> None:
    found = drifts([0.0, 0.0004, 0.0007])
    assert found[1] > 1e-3
    assert found[2] > 1e-3


def test_a_volume_that_approaches_is_told_where_it_goes() -> None:
    found = drifts([1e-3 * (1.0 - 0.9**k) for k in range(6)])
    assert found[-1] == pytest.approx(1e-3 * 0.9**5)


def test_ratios_that_differ_are_no_reason_to_believe_that_a_volume_has_settled() -> None:
    # Changes of 4, 3.8 and 2.8 parts in ten thousand: the ratios are 0.95 and 0.74.
    assert drifts([0.0, 4e-4, 7.8e-4, 10.6e-4])[-1] == pytest.approx(2.8e-4 * 0.7368 / 0.2632, rel=1e-3)


def test_flutter_of_a_small_volume_is_not_feared() -> None:
    assert drifts([0.0, 4e-4, 0.0, 4e-4, 0.0])[-1] == pytest.approx(4e-4)
