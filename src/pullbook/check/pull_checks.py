"""All checks of one pull, in the order in which a tester would ask them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.check.asked import Asked
from pullbook.check.channels import check_clipped, check_dropped, check_range, check_stuck
from pullbook.check.conditions import check_air, check_limits
from pullbook.check.glitch import check_glitch
from pullbook.check.plausibility import check_exhaust, check_identity, check_mean_pressure, check_mixture
from pullbook.check.sweep import check_coverage, check_sweep_rate, check_throttle, check_time_stamps
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem
from pullbook.records.build import Engine

if TYPE_CHECKING:
    from pullbook.records.check import Check
    from pullbook.records.declaration import Air, Limit
    from pullbook.records.pull import Pull

__all__ = ["check_pull"]


def check_pull(
    pull: Pull,
    *,
    limits: tuple[Limit, ...],
    air: Air,
    rpm_range: tuple[float, float] | None = None,
    engine: Engine | None = None,
    system: UnitSystem = UnitSystem.METRIC,
) -> tuple[Check, ...]:
    """Whether this pull is fit to compare.

    Only what makes a pull worthless is *unfit*: a glitch that no engine can make, more than a tenth of the samples
    missing, torque that stands still, oil more than 3 K outside its declared limits, a mixture outside them, a throttle
    that is not open. Whatever else is odd is for the tester to look at, and the pull is compared all the same.

    Parameters
    ----------
    pull : Pull
        As measured.
    limits : tuple of Limit
        Ranges that the session declares.
    air : Air
        Weather as written down; channels of the file win over it.
    rpm_range : tuple of (float, float) or None
        Range that is analysed; None for all of the pull. [rpm]
    engine : Engine or None
        For what is plausible; None for a naturally aspirated four-stroke of unknown size.
    system : UnitSystem
        Units of the sentences.

    Returns
    -------
    tuple of Check
        One answer or more for each check that can be asked of this pull; a check whose channels the file does not
        have is left out.
    """
    asked = Asked(pull=pull, rpm_range=rpm_range, system=system)
    engine = engine or Engine()
    if not asked.inside.any():
        asked = Asked(pull=pull, rpm_range=None, system=system)
    return (
        *check_range(asked),
        *check_stuck(asked),
        *check_clipped(asked),
        *check_dropped(asked),
        *check_glitch(asked),
        *check_coverage(Asked(pull=pull, rpm_range=rpm_range, system=system)),
        *(() if any(limit.channel is Channel.THROTTLE for limit in limits) else check_throttle(asked)),
        *check_sweep_rate(asked),
        *check_time_stamps(asked),
        *check_limits(asked, limits),
        *check_air(asked, air),
        *check_identity(asked),
        *check_mean_pressure(asked, engine),
        *check_mixture(asked, engine),
        *check_exhaust(asked),
    )
