"""Simulated sessions with one spoilt pull: is it flagged, is another one, and are sound sessions left alone?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
from claims_study import Counter
from noise_model import Noise, simulate

from pullbook.compare.bad_pulls import bad_pulls_of
from pullbook.compare.joint import draw_jointly

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.quantities.arrays import FloatArray

#: What is added to the torque of one pull, in per cent; as in the earlier study of the method.
SPOILT: Final[dict[str, Callable[[FloatArray], FloatArray]]] = {
    "none": np.zeros_like,
    "offset 1.5 %": lambda speed: np.full_like(speed, 1.5),
    "offset 2.5 %": lambda speed: np.full_like(speed, 2.5),
    "glitch 4 % over 200 rpm": lambda speed: 4.0 * np.exp(-0.5 * ((speed - 4200.0) / 200.0) ** 2),
    "droop 3 % above 5800 rpm": lambda speed: -3.0 * np.clip((speed - 5800.0) / 300.0, 0.0, 1.0),
}


def bad_pull_study(order: str, noise: Noise, spoilt: str, sessions: int, *, seed: int, own_fitting: bool) -> Counter:
    """Run many sessions with one pull spoilt in the same way and count."""
    counter = Counter()
    for child in np.random.SeedSequence(seed).spawn(sessions):
        generator = np.random.default_rng(child)
        session = simulate(order, noise, generator, own_fitting=own_fitting, timed=not own_fitting)
        pulls = list(session.comparison.pulls)
        number = int(generator.integers(len(pulls)))
        pull = pulls[number]
        pulls[number] = replace(pull, torque=pull.torque * (1.0 + SPOILT[spoilt](pull.speed_rpm) / 100.0))
        comparison = replace(session.comparison, pulls=tuple(pulls))
        flagged = [bad.pull for bad in bad_pulls_of(comparison, draw_jointly(comparison))]
        counter.add("flagged", flagged)
        counter.add("the right pull alone", flagged == [pull.name])
    return counter
