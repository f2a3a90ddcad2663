"""All checks across the pulls of a session: what could fake a gain."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.check.agreement import check_coverage_of_all, check_direction, check_kinds, check_received
from pullbook.check.conditions_across import check_balance
from pullbook.check.day import check_baseline_return, check_first_pulls, check_pauses
from pullbook.check.glitch_session import check_glitches
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.check import Check
    from pullbook.records.context import PullContext
    from pullbook.records.session import Session

__all__ = ["check_session"]


def check_session(
    pulls: Sequence[PullContext], session: Session, *, system: UnitSystem = UnitSystem.METRIC
) -> tuple[Check, ...]:
    """Whether the pulls of a session can be compared with each other.

    Parameters
    ----------
    pulls : sequence of PullContext
        Every pull in run order, one for each entry of the session; those not used are not judged.
    session : Session
        What was declared.
    system : UnitSystem
        Units of the sentences.

    Returns
    -------
    tuple of Check
        Answers about single pulls, with their name, that only the others can give (a glitch, too little of the
        range), then about the session, without a name. Nothing here stops a comparison but a pull that is unfit.
    """
    return (
        *check_glitches(pulls, rpm_range=session.rpm_range, system=system),
        *check_coverage_of_all(pulls, session),
        *check_pauses(pulls, session),
        *check_direction(pulls),
        *check_kinds(pulls, session),
        *check_received(session),
        *check_balance(pulls, session, system=system),
        *check_first_pulls(pulls, session),
        *check_baseline_return(pulls, session),
    )
