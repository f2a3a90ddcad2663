"""How often bands hold with what earlier sessions taught, and how often a bench that changed is noticed.

An archive is 20 earlier sessions, simulated as the session itself: each with sizes of its own about the same middle.
Where every pull is a fitting of its own they are ABCDABCDABCD; else AAABBBAAA, ABABAB, AAABBBCCCDDDAAA and AABBAABB in
turn, or AAABBBAAA alone.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from coverage_study import held
from noise_model import BENCH, IID, Noise, simulate

from pullbook.compare.history import conflict_with, likelihood_of
from pullbook.compare.prior import DEFAULT_PRIOR
from pullbook.compare.scale import scale_pulls
from pullbook.curves.archive_learning import learn_prior

if TYPE_CHECKING:
    from noise_model import Simulated

    from pullbook.curves.archive_prior import ArchivePrior

ARCHIVES, SESSIONS = 50, 20
"""Archives of the full study, and sessions after each: 1,000 for each row of the table."""
MIXED = ("AAABBBAAA", "ABABAB", "AAABBBCCCDDDAAA", "AABBAABB")


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One order after one kind of archive; `louder` multiplies all scatter of today's pulls.

    `earlier`: coverage and half-width of an earlier study of the same noise model with such an archive; for louder
    sessions, how often it noticed.
    """

    name: str
    order: str
    noise: Noise = IID
    archive: tuple[str, ...] = ("ABCDABCDABCD",)
    louder: float = 1.0
    earlier: str = "-"

    @property
    def own_fitting(self) -> bool:
        """Every pull is a fitting of its own."""
        return self.noise.refit == 0.0


CASES = (
    Case(name="2x1", order="AB", earlier="96.6 / 2.81"),
    Case(name="2x2", order="ABAB", earlier="96.0 / 1.79"),
    Case(name="2x3", order="ABABAB", earlier="96.9 / 1.44"),
    Case(name="AAABBB", order="AAABBB", noise=BENCH, archive=MIXED, earlier="96.3 / 2.23"),
    Case(name="AAABBBAAA", order="AAABBBAAA", noise=BENCH, archive=MIXED, earlier="96.2 / 1.68"),
    Case(name="ABABAB", order="ABABAB", noise=BENCH, archive=MIXED, earlier="95.2 / 1.61"),
    Case(name="AAABBBAAA after AAABBBAAA alone", order="AAABBBAAA", noise=BENCH, archive=("AAABBBAAA",)),
    Case(name="ABABAB after AAABBBAAA alone", order="ABABAB", noise=BENCH, archive=("AAABBBAAA",)),
)
LOUDER = (
    Case(name="2x3, as usual", order="ABABAB", earlier="1.6"),
    Case(name="2x3, doubled", order="ABABAB", louder=2.0, earlier="50.8"),
    Case(name="2x3, tripled", order="ABABAB", louder=3.0, earlier="92.0"),
    Case(name="2x3, halved", order="ABABAB", louder=0.5, earlier="0.0"),
    Case(name="2x2, doubled", order="ABAB", louder=2.0, earlier="44.8"),
    Case(name="2x5, doubled", order="ABABABABAB", louder=2.0, earlier="54.0"),
    Case(name="AAABBBAAA, doubled", order="AAABBBAAA", noise=BENCH, archive=MIXED, louder=2.0),
)


def _session(order: str, noise: Noise, seed: np.random.SeedSequence, draws: int) -> Simulated:
    own = noise.refit == 0.0
    return simulate(order, noise, np.random.default_rng(seed), own_fitting=own, timed=not own, draws=draws)


def prior_of(case: Case, seed: int, sessions: int = 20) -> ArchivePrior:
    """What so many simulated earlier sessions teach."""
    return _taught(case.archive, case.noise, seed, sessions)


@cache
def _taught(orders: tuple[str, ...], noise: Noise, seed: int, sessions: int) -> ArchivePrior:
    """The same for all cases with such an archive."""
    seeds = np.random.SeedSequence([seed, 1]).spawn(sessions)
    known = [
        likelihood_of(_session(orders[index % len(orders)], noise, one, 10).comparison)
        for index, one in enumerate(seeds)
    ]
    prior = learn_prior([one for one in known if one is not None])
    assert prior is not None
    return prior


def louder(noise: Noise, factor: float) -> Noise:
    """All scatter of the pulls, but the samples' own, times a factor."""
    return replace(noise, offset=factor * noise.offset, smooth=factor * noise.smooth)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """What many sessions after several archives gave; rates in per cent, half-width in per cent of torque."""

    case: Case
    sessions: int
    coverage: float
    half_width: float
    flagged: float

    def row(self) -> str:
        """Row of the table."""
        earlier = self.case.earlier if self.case in CASES else "-"
        return (
            f"| {self.case.name} | {self.sessions} | {self.coverage:.1f} | {self.half_width:.2f} | {self.flagged:.1f} "
            f"| {earlier} |"
        )


def noticed(case: Case, archives: int, sessions: int, seed: int = 2026) -> tuple[float, float]:
    """How often the archive is dropped [%], and the median ratio of today's scatter to the usual."""
    found = []
    for number in range(archives):
        prior = prior_of(case, seed + number)
        for one in np.random.SeedSequence([seed + number, 2]).spawn(sessions):
            session = _session(case.order, louder(case.noise, case.louder), one, 10)
            conflict = conflict_with(scale_pulls(session.comparison), prior)
            assert conflict is not None
            found.append((conflict.dropped, conflict.ratio))
    return 100.0 * float(np.mean([one[0] for one in found])), float(np.median([one[1] for one in found]))


HEAD = (
    "| session | sessions | coverage, % | median half-width, % | archive dropped, % | earlier study |\n"
    "| --- | --- | --- | --- | --- | --- |"
)


NOTICED_HEAD = (
    "| session, scatter of the pulls | archive dropped, % | scatter over the usual | earlier study |\n"
    "| --- | --- | --- | --- |"
)


def rates(case: Case, archives: int, sessions: int, draws: int, seed: int = 2026) -> Taught:
    """So many sessions after each of several archives; the archive is dropped where it contradicts the session."""
    found: list[tuple[bool, float, bool]] = []
    for number in range(archives):
        prior = prior_of(case, seed + number)
        for one in np.random.SeedSequence([seed + number, 2]).spawn(sessions):
            session = _session(case.order, louder(case.noise, case.louder), one, draws)
            conflict = conflict_with(scale_pulls(session.comparison), prior)
            dropped = conflict is not None and conflict.dropped
            inside, width = held(session, DEFAULT_PRIOR if dropped else prior)
            found.append((inside, width, dropped))
    return Taught(
        case=case,
        sessions=len(found),
        coverage=100.0 * float(np.mean([one[0] for one in found])),
        half_width=float(np.median([one[1] for one in found])),
        flagged=100.0 * float(np.mean([one[2] for one in found])),
    )


def main() -> None:
    """Print the table, row by row."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--archives", type=int, default=ARCHIVES)
    parser.add_argument("--sessions", type=int, default=SESSIONS)
    parser.add_argument("--draws", type=int, default=4000)
    parser.add_argument("names", nargs="*")
    asked = parser.parse_args()
    sys.stdout.write(HEAD + "\n")
    for case in (*CASES, *LOUDER):
        if case.name in (asked.names or [one.name for one in CASES]):
            sys.stdout.write(rates(case, asked.archives, asked.sessions, asked.draws).row() + "\n")
            sys.stdout.flush()
    sys.stdout.write("\n" + NOTICED_HEAD + "\n")
    for case in LOUDER:
        if not asked.names or case.name in asked.names:
            flagged, ratio = noticed(case, asked.archives, asked.sessions)
            sys.stdout.write(f"| {case.name} | {flagged:.1f} | {ratio:.2f} | {case.earlier} |\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
