"""Ticks and labels moved apart."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from pullbook.publish.ticks import nice_range, nice_ticks, spread

NUMBERS = st.floats(-1e4, 1e4)


@given(st.lists(st.floats(0.0, 300.0), min_size=1, max_size=20))
def test_labels_end_up_apart_in_order_and_inside(wanted: list[float]) -> None:
    placed = spread(wanted, 14.0, 5.0, 295.0)
    gap = min(14.0, 290.0 / (len(wanted) - 1)) if len(wanted) > 1 else 14.0
    ordered = sorted(placed)
    assert all(later - earlier >= gap - 1e-6 for earlier, later in itertools.pairwise(ordered))
    assert ordered[0] >= 5.0 - 1e-6
    assert ordered[-1] <= 295.0 + 1e-6
    for one, other in itertools.combinations(range(len(wanted)), 2):
        if wanted[one] < wanted[other]:
            assert placed[one] < placed[other]


def test_labels_with_room_stay_where_they_want_to_be() -> None:
    assert spread([10.0, 200.0, 100.0], 14.0, 0.0, 300.0) == (10.0, 200.0, 100.0)


def test_crowded_labels_move_as_little_as_possible() -> None:
    # By symmetry three labels that want the same place stand around it.
    assert spread([50.0, 50.0, 50.0], 10.0, 0.0, 100.0) == (40.0, 50.0, 60.0)


@given(NUMBERS, st.floats(1e-3, 1e4), st.integers(2, 12))
def test_ticks_are_few_round_and_inside(low: float, span: float, most: int) -> None:
    ticks = nice_ticks(low, low + span, most)
    assert len(ticks) <= most
    slack = 1e-6 * max(abs(low), span)
    assert all(low - slack <= tick <= low + span + slack for tick in ticks)


@given(NUMBERS, st.floats(0.0, 1e4))
def test_a_range_is_never_empty(low: float, span: float) -> None:
    first, last = nice_range(low, low + span)
    assert first < last
    assert first <= low
    assert last >= low + span
