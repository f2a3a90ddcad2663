"""All correction standards in one list, with one signature."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.correct.diesel import DIESEL
from pullbook.correct.rule import StandardFactor, StandardRule, mean_step
from pullbook.correct.spark_ignition import SPARK_IGNITION
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pullbook.correct.rule import Conditions

__all__ = ["STANDARDS", "rule_of"]


def _none(conditions: Conditions) -> StandardFactor:
    one = np.ones(conditions.speed_rpm.shape)
    return StandardFactor(
        gain=one, offset=np.zeros(one.shape),
        steps=(mean_step("correction factor", one, "1", "no correction: torque is left as observed"),),
    )  # fmt: skip


STANDARDS: Final[tuple[StandardRule, ...]] = (
    StandardRule(
        standard=Standard.NONE, title="as observed, in the air of the day", source="no standard",
        misfit=lambda _: ("", ""), needs=lambda _: (), compute=_none,
    ),
    *SPARK_IGNITION,
    *DIESEL,
)  # fmt: skip


def rule_of(standard: Standard) -> StandardRule:
    """The rule of a standard.

    Examples
    --------
    >>> rule_of(Standard.DIN_70020).title
    'older practice, 20 degC and 101.325 kPa, humidity ignored'
    """
    return next(rule for rule in STANDARDS if rule.standard is standard)
