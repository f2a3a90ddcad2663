"""Agreement: whether the pulls of a session are of one kind, and cover the same range."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.check.asked import Asked
from pullbook.quantities.channels import Channel
from pullbook.records.check import Check, Level
from pullbook.records.declaration import Standard
from pullbook.records.pull import Direction, TorqueKind
from pullbook.records.session import Dyno

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.context import PullContext
    from pullbook.records.session import Session

__all__ = ["check_coverage_of_all", "check_direction", "check_kinds", "check_received"]

_HALF, _MOST = 0.5, 0.9
_SWEPT: Final = {Direction.UP: "upwards", Direction.DOWN: "downwards", Direction.STEPS: "in steady points"}
_WHEEL_CHANNELS: Final = (Channel.TRACTIVE_FORCE, Channel.VEHICLE_SPEED)


def check_coverage_of_all(contexts: Sequence[PullContext], session: Session) -> list[Check]:
    """Pulls that cover less of the range than the others.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order; those not used take no part.
    session : Session
        Range that is analysed.

    Returns
    -------
    list of Check
        One for each pull with less than nine tenths of what the others have; less than half is unfit.
    """
    used = [context for context in contexts if context.used]
    spans = [_span(context, session.rpm_range) for context in used]
    answers: list[Check] = []
    for number, context in enumerate(used):
        others = float(np.median(spans[:number] + spans[number + 1 :])) if len(used) > 1 else 0.0
        share = spans[number] / others if others > 0.0 else 1.0
        if share < _MOST:
            says = f"The pull covers {spans[number]:,.0f} rpm, {100.0 * share:.0f} % of what the others cover."
            level = Level.UNFIT if share < _HALF else Level.LOOK
            answers.append(
                Check(pull=context.pull.name, check="coverage", level=level, says=says,
                      remedy="repeat the pull over the whole range")
            )  # fmt: skip
    return answers


def _span(context: PullContext, rpm_range: tuple[float, float] | None) -> float:
    asked = Asked(pull=context.pull, rpm_range=rpm_range)
    speed = asked.speed_rpm[asked.inside & np.isfinite(asked.torque)]
    return float(np.ptp(speed)) if speed.size else 0.0


def check_received(session: Session) -> list[Check]:
    """Whether the files were all received corrected to the same standard.

    Parameters
    ----------
    session : Session
        What each entry declares.

    Returns
    -------
    list of Check
        One.
    """
    received = sorted({"observed" if entry.received is Standard.NONE else entry.received for entry in session.pulls})
    if len(received) == 1:
        says = f"All files were received as {received[0]}." if received[0] == "observed" else (
            f"All files were received corrected to {received[0]}."
        )  # fmt: skip
        return [Check(pull="", check="received", level=Level.OK, says=says)]
    says = f"The files were received in different states ({', '.join(received)}); each was taken back by its own air."
    remedy = "export all files uncorrected, so that no error of a factor gets into a difference"
    return [Check(pull="", check="received", level=Level.LOOK, says=says, remedy=remedy)]


def check_direction(contexts: Sequence[PullContext]) -> list[Check]:
    """Whether every build was swept the same way.

    Manifolds, oil and gas are hotter at one end of a sweep than at the other, the inertia of the engine takes torque
    upwards and gives it back downwards, and a steady point knows neither. Where builds were swept in different ways
    all of this looks like their parts.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order; those not used take no part.

    Returns
    -------
    list of Check
        One; to be looked at where the share of each way is not the same in all builds.
    """
    ways: dict[str, list[Direction]] = {}
    for context in contexts:
        if context.used:
            ways.setdefault(context.build, []).append(context.pull.direction)
    if not ways:
        return []
    seen = [way for way in Direction if any(way in one for one in ways.values())]
    shares = {tuple(one.count(way) / len(one) for way in seen) for one in ways.values()}
    if len(seen) == 1:
        says = f"All pulls were swept {_SWEPT[seen[0]]}."
        return [Check(pull="", check="direction", level=Level.OK, says=says)]
    if len(shares) == 1:
        says = f"Pulls were swept {' and '.join(_SWEPT[way] for way in seen)}, in the same shares in all builds."
        return [Check(pull="", check="direction", level=Level.OK, says=says)]
    told = [
        f"{build} {' and '.join(f'{one.count(way)} {_SWEPT[way]}' for way in seen if way in one)}"
        for build, one in ways.items()
    ]
    says = f"Builds were swept in different ways: {', '.join(told)}; heat and inertia then differ with the parts."
    remedy = "sweep all builds the same way, or each build as often in each way"
    return [Check(pull="", check="direction", level=Level.LOOK, says=says, remedy=remedy)]


def check_kinds(contexts: Sequence[PullContext], session: Session) -> list[Check]:
    """Whether torque is of one kind throughout, and measured where the session says.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order.
    session : Session
        Where torque is said to be measured.

    Returns
    -------
    list of Check
        One for each thing that does not agree.
    """
    answers: list[Check] = []
    relative = [context.pull.torque_kind is TorqueKind.RELATIVE for context in contexts]
    if any(relative) and not all(relative):
        says = f"{sum(relative)} of {len(relative)} pulls have a load signal without calibration, the others torque."
        remedy = "calibrate the signal, or compare pulls of one kind only"
        answers.append(Check(pull="", check="torque_kind", level=Level.LOOK, says=says, remedy=remedy))
    wheels = [any(channel in context.pull.channels for channel in _WHEEL_CHANNELS) for context in contexts]
    if any(wheels) and not all(wheels):
        says = f"{sum(wheels)} of {len(wheels)} files have channels of a chassis dynamometer, the others have none."
        remedy = "make sure that torque at the wheels is not compared with torque at the crank"
        answers.append(Check(pull="", check="wheel_or_crank", level=Level.LOOK, says=says, remedy=remedy))
    elif any(Channel.TRACTIVE_FORCE in context.pull.channels for context in contexts) and session.dyno is Dyno.ENGINE:
        says = "The files have a tractive force, but the session says that torque is at the crank."
        remedy = 'write dyno = "chassis" in [session] where torque was measured at the wheels'
        answers.append(Check(pull="", check="wheel_or_crank", level=Level.LOOK, says=says, remedy=remedy))
    return answers
