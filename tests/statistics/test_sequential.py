"""Sessions that are looked at on the way claim what is false as rarely as others, with fewer pulls."""

from __future__ import annotations

import numpy as np
import pytest
from sequential_study import FIXED, LOOKS, TRUE, run_sessions


@pytest.mark.slow
def test_a_few_sessions_that_were_looked_at_seldom_claim_what_is_false_and_end_early_where_it_is_true() -> None:
    looks = (6, 8)
    false = run_sessions(12, 0.0, looks, 17)
    # At 5 %, more than 3 of 12 happen in one of 450 runs (binomial distribution); the seed makes it one of them or not.
    assert false.supported.sum() <= 3
    true = run_sessions(6, -3.0, looks, 17)
    assert true.supported.mean() > 0.8
    assert true.pulls.mean() < 7.5


@pytest.mark.simulation
def test_false_claims_stay_at_five_of_a_hundred_and_pulls_are_saved() -> None:
    false = run_sessions(1000, 0.0, LOOKS, 3)
    assert false.supported.mean() < 0.05 + 2.0 * np.sqrt(0.05 * 0.95 / 1000)
    for off in TRUE:
        looked = run_sessions(1000, off, LOOKS, 3)
        once = [run_sessions(1000, off, (pulls,), 3) for pulls in FIXED]
        power = [float(one.supported.mean()) for one in once]
        same = float(np.interp(looked.supported.mean(), power, FIXED))  # pulls of the fixed plan of that power
        assert looked.pulls.mean() < same
