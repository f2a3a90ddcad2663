"""Cam-card arithmetic."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.engine.cam_card import CamCard, card_from_events


@pytest.mark.parametrize(
    ("intake", "exhaust", "separation", "centreline", "expected"),
    # Geometry of symmetric lobes: ECL, IVO, IVC, EVO, EVC, overlap.
    [
        (280, 280, 110, 106, (114, 34, 66, 74, 26, 60)),
        (268, 276, 110, 106, (114, 28, 60, 72, 24, 52)),
        (224, 230, 112, 108, (116, 4, 40, 51, -1, 3)),
        (218, 224, 114, 114, (114, -5, 43, 46, -2, -7)),
        (292, 300, 108, 104, (112, 42, 70, 82, 38, 80)),
    ],
)
def test_events_follow_from_durations_and_centrelines(
    intake: float, exhaust: float, separation: float, centreline: float, expected: tuple[float, ...]
) -> None:
    card = CamCard(
        intake_duration_deg=intake, exhaust_duration_deg=exhaust, separation_deg=separation,
        intake_centreline_deg=centreline,
    )  # fmt: skip
    assert (
        card.exhaust_centreline_deg, card.intake_opens_deg, card.intake_closes_deg, card.exhaust_opens_deg,
        card.exhaust_closes_deg, card.overlap_deg,
    ) == expected  # fmt: skip
    assert card.advance_deg == separation - centreline


@pytest.mark.parametrize(
    ("events", "expected"),
    # Geometry of symmetric lobes: Di, De, ICL, ECL, LSA, overlap.
    [((34, 66, 70, 30), (280, 280, 106, 110, 108, 64)), ((12, 40, 50, 8), (232, 238, 104, 111, 107.5, 20))],
)
def test_durations_and_centrelines_follow_from_events(
    events: tuple[float, float, float, float], expected: tuple[float, ...]
) -> None:
    card = card_from_events(*events)
    assert (
        card.intake_duration_deg, card.exhaust_duration_deg, card.intake_centreline_deg, card.exhaust_centreline_deg,
        card.separation_deg, card.overlap_deg,
    ) == expected  # fmt: skip


@given(st.integers(180, 340), st.integers(180, 340), st.integers(95, 125), st.integers(90, 125))
def test_card_and_events_are_each_others_inverse(intake: int, exhaust: int, separation: int, centreline: int) -> None:
    card = CamCard(
        intake_duration_deg=intake, exhaust_duration_deg=exhaust, separation_deg=separation,
        intake_centreline_deg=centreline,
    )  # fmt: skip
    events = (card.intake_opens_deg, card.intake_closes_deg, card.exhaust_opens_deg, card.exhaust_closes_deg)
    assert card_from_events(*events) == card


def test_advance_brings_every_event_of_the_intake_forward_and_keeps_the_overlap() -> None:
    card = card_from_events(34, 66, 70, 30)
    earlier = card.advanced(4.0)
    assert earlier.intake_opens_deg == 38.0
    assert earlier.intake_closes_deg == 62.0
    assert earlier.exhaust_opens_deg == 74.0
    assert earlier.exhaust_closes_deg == 26.0
    assert earlier.overlap_deg == card.overlap_deg
