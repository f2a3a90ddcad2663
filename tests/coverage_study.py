"""How often the band of B - A holds the true difference at all speeds at once, in sessions whose truth is known."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from noise_model import BENCH, IID, Noise, simulate

from pullbook.compare.joint import draw_jointly
from pullbook.compare.prior import DEFAULT_PRIOR
from pullbook.curves.bands import simultaneous_band

if TYPE_CHECKING:
    from noise_model import Simulated

    from pullbook.curves.archive_prior import ScatterBelief

UNEVEN = replace(IID, heteroscedastic=True)
REFIT_X3 = replace(BENCH, refit=0.75)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One kind of session; `lowest` and `highest` are the bounds of its coverage in the reduced form. [%]

    `earlier`: coverage and half-width that an earlier study of the same noise model found, by the same method without
    archive; for sessions with bolt-ups with a half-Cauchy prior on them, then with a half-normal one.
    """

    name: str
    order: str
    noise: Noise = IID
    iid: bool = False
    different: bool = True
    lowest: float = 90.0
    highest: float = 99.5
    earlier: str = ""


SCENARIOS = (
    Scenario(name="2x2", order="ABAB", iid=True, earlier="96.4 / 2.20"),
    Scenario(name="2x3", order="ABABAB", iid=True, earlier="97.1 / 1.57"),
    Scenario(name="4x3", order="ABCD" * 3, iid=True, earlier="96.6 / 1.46"),
    Scenario(name="8x3", order="ABCDEFGH" * 3, iid=True, earlier="95.0 / 1.42"),
    Scenario(name="2x3, uneven scatter", order="ABABAB", noise=UNEVEN, iid=True, lowest=88.0, earlier="91 / 1.92"),
    Scenario(
        name="8x3, uneven scatter", order="ABCDEFGH" * 3, noise=UNEVEN, iid=True, lowest=88.0, earlier="90 / 1.76"
    ),
    Scenario(name="4x3, rough scatter", order="ABCD" * 3, noise=replace(IID, rough=True), iid=True, earlier="95.7"),
    Scenario(
        name="4x3, length 200 rpm", order="ABCD" * 3, noise=replace(IID, length_rpm=200.0), iid=True, earlier="95.8"
    ),
    Scenario(name="2x3, no difference", order="ABABAB", iid=True, different=False),
    Scenario(name="AAABBB", order="AAABBB", noise=BENCH, lowest=97.0, highest=100.0, earlier="100 / 3.99; 99.2 / 2.77"),
    Scenario(
        name="AAABBBAAA", order="AAABBBAAA", noise=BENCH, lowest=94.0, highest=100.0, earlier="99.6 / 2.37; 97.2 / 1.77"
    ),
    Scenario(name="ABABAB", order="ABABAB", noise=BENCH, earlier="98.4 / 1.85; 95.8 / 1.77"),
    Scenario(
        name="AAABBBCCCDDDAAA",
        order="AAABBBCCCDDDAAA",
        noise=BENCH,
        lowest=94.0,
        highest=100.0,
        earlier="-; 96.0 / 1.80",
    ),
    Scenario(
        name="AAABBBAAA, no difference", order="AAABBBAAA", noise=BENCH, different=False, lowest=94.0, highest=100.0
    ),
    Scenario(
        name="AAABBB, re-fitting x3",
        order="AAABBB",
        noise=REFIT_X3,
        lowest=94.0,
        highest=100.0,
        earlier="99.6 / 4.04; 75.0 / 2.74",
    ),
    Scenario(
        name="AAABBBAAA, re-fitting x3",
        order="AAABBBAAA",
        noise=REFIT_X3,
        lowest=85.0,
        earlier="90.8 / 2.91; 66.7 / 2.16",
    ),
    Scenario(
        name="ABABAB, re-fitting x3",
        order="ABABAB",
        noise=REFIT_X3,
        lowest=88.0,
        earlier="97.2 / 2.89; 95.3 / 2.70",
    ),
    Scenario(
        name="ABABAB, uneven scatter",
        order="ABABAB",
        noise=replace(BENCH, heteroscedastic=True),
        lowest=88.0,
        earlier="-; 95.0 / 2.00",
    ),
    Scenario(name="AAABBBAAA, nothing but pulls", order="AAABBBAAA", highest=100.0, earlier="-; 100 / 1.64"),
    Scenario(name="ABABAB, nothing but pulls", order="ABABAB", highest=100.0, earlier="-; 97.7 / 1.51"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """What many sessions of one kind gave."""

    scenario: Scenario
    sessions: int
    coverage: float
    half_width: float

    def row(self) -> str:
        """Row of the table."""
        error = 196.0 * np.sqrt(self.coverage / 100 * (1 - self.coverage / 100) / self.sessions)
        return (
            f"| {self.scenario.name} | {self.sessions} | {self.coverage:.1f} ± {error:.1f} | {self.half_width:.2f} "
            f"| {self.scenario.earlier or '-'} |"
        )


HEAD = (
    "| session | sessions | coverage of the 95 % band, % | median half-width, % | earlier study |\n"
    "| --- | --- | --- | --- | --- |"
)


def session_of(scenario: Scenario, generator: np.random.Generator, draws: int) -> Simulated:
    """One session of a scenario; an even one has no times, and every pull is a fitting of its own."""
    return simulate(
        scenario.order,
        scenario.noise,
        generator,
        different=scenario.different,
        own_fitting=scenario.iid,
        timed=not scenario.iid,
        draws=draws,
    )


def held(session: Simulated, prior: ScatterBelief = DEFAULT_PRIOR) -> tuple[bool, float]:
    """Whether the band of B - A in newton metres holds everywhere, and its median half-width in per cent of A."""
    joint = draw_jointly(session.comparison, prior)
    a, b = joint.cells.index("A"), joint.cells.index("B")
    unit = joint.reference / 100.0
    centre = (joint.centre[b] - joint.centre[a]) * unit
    low, high, _, _ = simultaneous_band(centre, (joint.draws[:, b] - joint.draws[:, a]) * unit, 0.95)
    base = session.torque("A", joint.grid_rpm)
    true = session.torque("B", joint.grid_rpm) - base
    seen = np.isfinite(joint.reference)
    inside = (low <= true) & (true <= high)
    return bool(inside[seen].all()), float(np.median((50.0 * (high - low) / base)[seen]))


def coverage_of(scenario: Scenario, sessions: int, draws: int, seed: int = 2026) -> Rate:
    """Run a scenario so many times, each session from a seed of its own."""
    found = [
        held(session_of(scenario, np.random.default_rng(child), draws))
        for child in np.random.SeedSequence(seed).spawn(sessions)
    ]
    return Rate(
        scenario=scenario,
        sessions=sessions,
        coverage=100.0 * float(np.mean([inside for inside, _ in found])),
        half_width=float(np.median([width for _, width in found])),
    )


def main() -> None:
    """Print the table, row by row."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, default=1000)
    parser.add_argument("--draws", type=int, default=4000)
    parser.add_argument("names", nargs="*")
    asked = parser.parse_args()
    sys.stdout.write(HEAD + "\n")
    for scenario in SCENARIOS:
        if not asked.names or scenario.name in asked.names:
            sys.stdout.write(coverage_of(scenario, asked.sessions, asked.draws).row() + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
