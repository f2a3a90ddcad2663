"""Sessions that are looked at on the way claim what is false as rarely as others, with fewer pulls."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from sequential_study import FIXED, HEAD, LOOKS, SEED, SESSIONS, TRUE, Seen, row, run_sessions

if TYPE_CHECKING:
    from collections.abc import Callable


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
def test_false_claims_stay_at_five_of_a_hundred_and_pulls_are_saved(tell: Callable[[str], None]) -> None:
    tell(HEAD)

    def seen(off: float, looks: tuple[int, ...]) -> Seen:
        found = run_sessions(SESSIONS, off, looks, SEED)
        tell(row(f"looks at {looks}", off, found))
        return found

    false = seen(0.0, LOOKS)
    # 5 % and two standard errors of 1,000 sessions: 6.4 %.
    assert false.supported.mean() < 0.05 + 2.0 * np.sqrt(0.05 * 0.95 / SESSIONS)
    for off in TRUE:
        looked = seen(off, LOOKS)
        power = [float(seen(off, (pulls,)).supported.mean()) for pulls in FIXED]
        same = float(np.interp(looked.supported.mean(), power, FIXED))  # pulls of the fixed plan of that power
        assert looked.pulls.mean() + 2.0 * looked.pulls.std() / np.sqrt(SESSIONS) < same


@pytest.mark.simulation
def test_the_study_sees_that_looks_that_do_not_share_claim_what_is_false_too_often() -> None:
    # Six looks at 5 % each: a study that would not see this would not be measuring anything.
    false = run_sessions(SESSIONS, 0.0, LOOKS, SEED, spending=False)
    assert false.supported.mean() > 0.05 + 2.0 * np.sqrt(0.05 * 0.95 / SESSIONS)
