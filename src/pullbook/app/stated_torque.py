"""How large the torque is, from pulls that were made, where the tester does not state it."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.result import PullStatus
    from pullbook.records.session import Session

__all__ = ["with_measured_torque"]


def with_measured_torque(session: Session, statuses: Sequence[PullStatus]) -> tuple[Session, tuple[str, ...]]:
    """Session that knows how large torque and power are.

    Parameters
    ----------
    session : Session
        What was declared; what it states of torque and power stays.
    statuses : sequence of PullStatus
        Pulls that were made; those of the baseline that are used count. [N m]

    Returns
    -------
    session : Session
        With mean torque and peak power. [N m, W]
    said : tuple of str
        What was taken from the pulls, one sentence at most.
    """
    mine = [
        status.corrected
        for status in statuses
        if status.used and status.build == session.baseline.name and status.pull.torque_kind is TorqueKind.MEASURED
    ]
    plan = session.plan
    if not mine or (plan.mean_torque is not None and plan.peak_power is not None):
        return session, ()
    torque = float(np.mean([_mean(one.speed_rpm, one.torque, session.rpm_range) for one in mine]))
    power = float(np.mean([float((one.torque * one.speed_rpm).max()) * pi / 30.0 for one in mine]))
    stated = replace(
        plan,
        mean_torque=torque if plan.mean_torque is None else plan.mean_torque,
        peak_power=power if plan.peak_power is None else plan.peak_power,
    )
    said = f"Mean torque and peak power are those of the pulls of {session.baseline.name} that were made."
    return replace(session, plan=stated), (said,)


def _mean(speed: np.ndarray, torque: np.ndarray, span: tuple[float, float] | None) -> float:
    """Mean over the range, each speed as much as another however dense the samples are. [N m]."""
    order = np.argsort(speed, kind="stable")
    low, high = span or (float(speed.min()), float(speed.max()))
    return float(np.interp(np.linspace(low, high, 200), speed[order], torque[order]).mean())
