"""What is still to come of changes that fall from cycle to cycle, and what is only flutter."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from pullbook.engine.settling import changes_between, changes_to_come, largest_changes


def test_what_falls_by_a_constant_ratio_has_the_rest_of_its_series_to_come() -> None:
    changes = [np.array([0.08 * 0.8**k, 0.0, 0.0]) for k in range(3)]
    assert changes_to_come(changes)[0] == pytest.approx(0.08 * 0.8**3 / 0.2)


@pytest.mark.parametrize("signs", [(1, -1, 1), (-1, 1, 1), (1, 1, -1)])
def test_flutter_is_not_taken_for_a_slow_approach(signs: tuple[int, ...]) -> None:
    changes = [sign * np.array([3e-4, 3e-4, 3e-4]) for sign in signs]
    assert changes_to_come(changes) == pytest.approx([3e-4] * 3)


def test_cylinders_that_take_turns_are_not_taken_for_one_that_drifts() -> None:
    # The largest of the trapped masses changes by the same size every time, but never that of the same cylinder.
    states = [
        np.array([1e6, 1e-3 * (1.0 + 3e-4 * (k % 2)), 1e-3 * (1.0 + 3e-4 * ((k + 1) % 2)), 0.1, 0.1]) for k in range(4)
    ]
    changes = [changes_between(before, now) for before, now in itertools.pairwise(states)]
    work, trapped, residual = largest_changes(changes_to_come(changes))
    assert (work, residual) == (0.0, 0.0)
    assert trapped == pytest.approx(3e-4, rel=1e-3)
