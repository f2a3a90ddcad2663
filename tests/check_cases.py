"""Pulls and sessions for the tests of the checks: made by hand, with a fault planted in them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from builders import AIR, make_corrected, make_pull, make_session

from pullbook.check.pull_checks import check_pull
from pullbook.quantities.channels import Channel
from pullbook.records.check import Level
from pullbook.records.context import PullContext
from pullbook.records.declaration import PullEntry, Standard

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.check import Check
    from pullbook.records.declaration import Air, Limit
    from pullbook.records.pull import Pull
    from pullbook.records.session import Session

__all__ = ["answers", "bump", "entries", "level_of", "noisy_pull", "of_check", "pull_with", "session_of", "sweep"]

RATE = 300.0  # rpm/s


def sweep(pull: Pull) -> FloatArray:
    """Engine speed of a pull. [rpm]"""
    return pull.channels[Channel.SPEED]


def pull_with(pull: Pull | None = None, **channels: FloatArray) -> Pull:
    """A clean sweep with some channels replaced or added, by their key."""
    pull = pull or make_pull()
    return replace(pull, channels={**pull.channels, **{Channel(key): values for key, values in channels.items()}})


def noisy_pull(seed: int, name: str = "pulls/a1.csv", *, build: str = "A", white: float = 0.5) -> Pull:
    """Sweep of 10 samples a second with white noise in per cent of torque."""
    speed = np.arange(1950.0, 6551.0, RATE / 10.0)
    pull = make_pull(name, build=build, speed_rpm=speed)
    noise = 1.0 + white / 100.0 * np.random.default_rng(seed).standard_normal(speed.size)
    torque = pull.channels[Channel.TORQUE] * noise
    return pull_with(pull, torque=torque, power=torque * speed * np.pi / 30.0)


def bump(pull: Pull, percent: float, centre_rpm: float, width_rpm: float) -> Pull:
    """The same pull with torque raised over a stretch, power with it."""
    speed = sweep(pull)
    raised = 1.0 + percent / 100.0 * (np.abs(speed - centre_rpm) <= width_rpm / 2.0)
    torque = pull.channels[Channel.TORQUE] * raised
    return pull_with(pull, torque=torque, power=torque * speed * np.pi / 30.0)


def answers(
    pull: Pull,
    *,
    limits: tuple[Limit, ...] = (),
    air: Air = AIR,
    rpm_range: tuple[float, float] | None = (2000.0, 6500.0),
) -> tuple[Check, ...]:
    """All answers about one pull."""
    return check_pull(pull, limits=limits, air=air, rpm_range=rpm_range)


def of_check(checks: Sequence[Check], name: str) -> Check:
    """The only answer of one check."""
    found = [check for check in checks if check.check == name]
    assert len(found) == 1, f"{len(found)} answers of {name}"
    return found[0]


def level_of(checks: Sequence[Check], name: str) -> Level:
    """Worst level that one check gave."""
    order = [Level.OK, Level.LOOK, Level.UNFIT]
    return max((check.level for check in checks if check.check == name), key=order.index)


def entries(builds: str, times: Sequence[datetime] | None = None) -> tuple[PullEntry, ...]:
    """Declared pulls of builds named by a letter each, in run order."""
    return tuple(
        PullEntry(
            build=build, file=f"pulls/{number}.csv", air=AIR, received=Standard.NONE,
            time=times[number] if times else None,
        )
        for number, build in enumerate(builds)
    )  # fmt: skip


def session_of(pulls: Sequence[Pull], builds: str, **changes: object) -> tuple[list[PullContext], Session]:
    """Contexts of some pulls, one fitting for each stretch of one build, 7 minutes apart, and their session."""
    contexts: list[PullContext] = []
    for number, (pull, build) in enumerate(zip(pulls, builds, strict=True)):
        new = not contexts or contexts[-1].build != build
        fitting = contexts[-1].fitting + new if contexts else 1
        contexts.append(
            PullContext(
                pull=pull, corrected=make_corrected(pull, factor=1.0), build=build, fitting=fitting, time=420.0 * number
            )
        )
    session = make_session(names="".join(sorted(set(builds))), pulls=entries(builds), rpm_range=(2000.0, 6500.0))
    return contexts, replace(session, **changes)  # type: ignore[arg-type]  # any field of a session
