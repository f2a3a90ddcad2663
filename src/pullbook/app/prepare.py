"""check and correct: the pulls of a session -> which of them are fit, at one standard."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Protocol

from pullbook.app.known_air import known_air
from pullbook.capture.duplicates import find_duplicates
from pullbook.check.balance import check_session
from pullbook.check.glitch_session import settle_glitches
from pullbook.check.pull_checks import check_pull
from pullbook.correct.apply import correct_pull
from pullbook.quantities.showing import UnitSystem
from pullbook.records.check import Level
from pullbook.records.context import PullContext
from pullbook.records.result import PullStatus

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.load_session import LoadedSession
    from pullbook.app.ports import Progress
    from pullbook.records.check import Check
    from pullbook.records.declaration import PullEntry

__all__ = ["Prepared", "prepare"]

# Without times the run order is all there is; these are the minutes of an ordinary bench day.
_PULL_S: Final = 6.0 * 60.0
_REFIT_S: Final = 40.0 * 60.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """Pulls with their checks.

    Attributes
    ----------
    statuses : tuple of PullStatus
        In run order.
    checks : tuple of Check
        Of every pull, then across builds.
    duplicates : frozenset of int
        Positions of pulls that are another one saved again; never compared.
    times_assumed : bool
        No entry has a time, so that an ordinary bench day was assumed.
    """

    statuses: tuple[PullStatus, ...]
    checks: tuple[Check, ...]
    duplicates: frozenset[int]
    times_assumed: bool


def prepare(loaded: LoadedSession, progress: Progress) -> Prepared:
    """Correct and check every pull of a session.

    Parameters
    ----------
    loaded : LoadedSession
        Declarations and pulls.
    progress : Progress
        Is told of every pull.

    Returns
    -------
    prepared : Prepared
        Status of every pull, and the checks.

    Raises
    ------
    InputError
        If a pull cannot be corrected to the session's standard.
    """
    session, pulls = loaded.session, loaded.pulls
    fittings, times, assumed = _fittings(session.pulls), *_times(session.pulls)
    again = {
        duplicate.position: f"the same pull as {duplicate.kept}, saved again" for duplicate in find_duplicates(pulls)
    }
    statuses: list[PullStatus] = []
    checks: list[Check] = []
    for number, (entry, pull) in enumerate(zip(session.pulls, pulls, strict=True)):
        progress.step(f"checking {pull.name}", number, len(pulls))
        air, said = known_air(entry.air, pull)
        corrected = correct_pull(
            pull, air=air, engine=session.engine, standard=session.standard, received=entry.received,
            inertia=session.inertia,
        )  # fmt: skip
        because = again.get(number) or (f"left out by the tester: {entry.left_out}" if entry.left_out else "")
        statuses.append(
            PullStatus(
                pull=pull,
                corrected=replace(corrected, flags=(*said, *corrected.flags)),
                build=entry.build,
                fitting=fittings[number],
                time=times[number],
                clock=f"{entry.time:%H:%M}" if entry.time else "",
                used=not because,
                because=because,
            )
        )
        checks += _in_both_units(
            partial(
                check_pull, pull, limits=session.limits, air=air, rpm_range=session.rpm_range,
                engine=session.engine,
            )
        )  # fmt: skip
    statuses = _without_unfit(statuses, checks)
    checks = list(settle_glitches(checks, [_context(status) for status in statuses]))
    across = _in_both_units(partial(check_session, [_context(status) for status in statuses], session))
    statuses = _without_unfit(statuses, across)
    return Prepared(
        statuses=tuple(statuses), checks=(*checks, *across), duplicates=frozenset(again), times_assumed=assumed
    )


class _Ask(Protocol):
    """A question whose answers are the same in all units, but for their words."""

    def __call__(self, *, system: UnitSystem) -> tuple[Check, ...]: ...


def _in_both_units(ask: _Ask) -> tuple[Check, ...]:
    """Answers with their sentences in both unit systems, because a reader of the page may switch."""
    pairs = zip(ask(system=UnitSystem.METRIC), ask(system=UnitSystem.US), strict=True)
    return tuple(replace(one, says_us=other.says if other.says != one.says else "") for one, other in pairs)


def _context(status: PullStatus) -> PullContext:
    return PullContext(
        pull=status.pull, corrected=status.corrected, build=status.build, fitting=status.fitting, time=status.time,
        used=status.used,
    )  # fmt: skip


def _without_unfit(statuses: Sequence[PullStatus], checks: Sequence[Check]) -> list[PullStatus]:
    """Statuses with every pull left out that a check calls unfit, and the check's sentence as the reason."""
    reasons: dict[str, Check] = {}
    for check in checks:
        if check.level is Level.UNFIT:
            reasons.setdefault(check.pull, check)
    return [
        replace(status, used=False, because=why.says, because_us=why.says_us)
        if status.used and (why := reasons.get(status.pull.name))
        else status
        for status in statuses
    ]


def _fittings(entries: Sequence[PullEntry]) -> list[int]:
    """Bolt-up of every entry: a new one where the build changes or parts were taken off."""
    fittings: list[int] = []
    for before, entry in zip((None, *entries[:-1]), entries, strict=True):
        new = before is None or before.build != entry.build or entry.refitted
        fittings.append((fittings[-1] if fittings else 0) + int(new))
    return fittings


def _times(entries: Sequence[PullEntry]) -> tuple[list[float], bool]:
    """Seconds from the first pull, and whether they are assumed."""
    first = entries[0].time
    if first is not None:
        return [(entry.time - first).total_seconds() if entry.time else 0.0 for entry in entries], False
    times = [0.0]
    fittings = _fittings(entries)
    for before, fitting in pairwise(fittings):
        times.append(times[-1] + (_PULL_S if fitting == before else _REFIT_S))
    return times, True
