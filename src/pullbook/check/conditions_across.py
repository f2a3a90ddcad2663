"""Balance: whether a build was tested in the same conditions as the baseline."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.check.asked import Asked, name_of
from pullbook.check.sensitivity import explained
from pullbook.check.sweep import sweep_rates
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import UnitSystem, show, show_change
from pullbook.records.check import Check, Level
from pullbook.records.declaration import Air, Standard
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.context import PullContext
    from pullbook.records.session import Session

__all__ = ["check_balance"]

# What a difference may be before it matters to a comparison; oil and coolant as common practice has it (from memory),
# the others by about a quarter of a per cent of torque. [SI unit of the channel]
_TOLERANCES: Final = {
    Channel.MIXTURE: 0.015,
    Channel.SPARK: 1.0,
    Channel.AIR_TEMPERATURE: 5.0,
    Channel.AIR_PRESSURE: 1000.0,
    Channel.AIR_HUMIDITY: 0.15,
    Channel.OIL_TEMPERATURE: 3.0,
    Channel.COOLANT_TEMPERATURE: 3.0,
    Channel.FUEL_TEMPERATURE: 5.0,
    Channel.THROTTLE: 0.02,
}
_UNCORRECTED: Final = {Channel.AIR_TEMPERATURE: 1.0, Channel.AIR_PRESSURE: 200.0, Channel.AIR_HUMIDITY: 0.05}
_RATE_SHARE, _RATE_SHARE_CORRECTED = 0.05, 0.20  # of the baseline's sweep rate, without and with a declared inertia
_REMEDY: Final = "repeat one of the two with the {} as in the other"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Balance:
    """One channel in one build and in the baseline."""

    build: str
    mean: float
    baseline: float
    scatter: float | None


def check_balance(
    contexts: Sequence[PullContext], session: Session, *, system: UnitSystem = UnitSystem.METRIC
) -> tuple[Check, ...]:
    """Differences of conditions between each build and the baseline, with the torque that they could explain.

    Parameters
    ----------
    contexts : sequence of PullContext
        Pulls in run order, one for each entry of the session; those not used take no part.
    session : Session
        Declared air, standard and inertia.
    system : UnitSystem
        Units of the sentences.

    Returns
    -------
    tuple of Check
        One for each channel that both have: all well, or one for each build that differs.
    """
    answers: list[Check] = []
    for channel in (*_TOLERANCES, Channel.SWEEP_RATE):
        balances = _balances(channel, contexts, session)
        if balances:
            answers += _answers(channel, balances, session, contexts, system)
    return tuple(answers)


def _balances(channel: Channel, contexts: Sequence[PullContext], session: Session) -> list[_Balance]:
    means: dict[str, list[float]] = {}
    entries = session.pulls if len(session.pulls) == len(contexts) else None
    for number, context in enumerate(contexts):
        value = _mean(channel, context, entries[number].air if entries else Air(), session)
        if context.used and value is not None:
            means.setdefault(context.build, []).append(value)
    base = means.pop(session.baseline.name, None)
    if not base:
        return []
    scatter = _pooled([base, *means.values()])
    return [
        _Balance(build=build, mean=float(np.mean(values)), baseline=float(np.mean(base)), scatter=scatter)
        for build, values in means.items()
    ]


def _mean(channel: Channel, context: PullContext, air: Air, session: Session) -> float | None:
    """Mean of a channel over the pull; declared air where the file has no channel."""
    asked = Asked(pull=context.pull, rpm_range=session.rpm_range)
    if channel is Channel.SWEEP_RATE:
        rates = np.empty(0) if asked.steps else sweep_rates(context.pull, asked.inside)
        return float(np.median(np.abs(rates))) if rates.size else None
    values = asked.values(channel)
    if values.size:
        return float(np.mean(values))
    declared = {
        Channel.AIR_TEMPERATURE: air.temperature,
        Channel.AIR_PRESSURE: air.pressure,
        Channel.AIR_HUMIDITY: air.humidity,
    }
    return declared.get(channel)


def _pooled(groups: Sequence[Sequence[float]]) -> float | None:
    """Standard deviation from pull to pull within the builds."""
    freedom = sum(len(group) - 1 for group in groups)
    if freedom < 1:
        return None
    squares = sum(float(np.sum((np.asarray(group) - np.mean(group)) ** 2)) for group in groups)
    return float(np.sqrt(squares / freedom))


def _tolerance(channel: Channel, baseline: float, session: Session) -> float:
    if channel is Channel.SWEEP_RATE:
        return (_RATE_SHARE if session.inertia is None else _RATE_SHARE_CORRECTED) * baseline
    if session.standard is Standard.NONE and channel in _UNCORRECTED:
        return _UNCORRECTED[channel]
    return _TOLERANCES[channel]


def _answers(
    channel: Channel,
    balances: Sequence[_Balance],
    session: Session,
    contexts: Sequence[PullContext],
    system: UnitSystem,
) -> list[Check]:
    torque = _torque(contexts, session)
    off = [item for item in balances if abs(item.mean - item.baseline) > _tolerance(channel, item.baseline, session)]
    if not off:
        worst = max(abs(item.mean - item.baseline) for item in balances)
        within = show_change(worst, channel, system, signed=False)
        says = f"The {name_of(channel)} was within {within} of the baseline in every build."
        return [Check(pull="", check=f"balance_{channel}", level=Level.OK, says=says)]
    return [_answer(channel, item, session, torque, system) for item in off]


def _answer(channel: Channel, item: _Balance, session: Session, torque: float | None, system: UnitSystem) -> Check:
    change = show_change(item.mean - item.baseline, channel, system)
    values = f"{show(item.mean, channel, system)} against {show(item.baseline, channel, system)}"
    scatter = (
        ""
        if item.scatter is None
        else f", from pull to pull {show_change(item.scatter, channel, system, signed=False)}"
    )
    says = f"The {name_of(channel)} differs by {change} between {item.build} and the baseline ({values}{scatter})"
    percent, why = explained(channel, (item.mean, item.baseline), session=session, torque=torque, system=system)
    if percent is not None:
        says += f"; that could explain up to {percent:.1f} % of torque, {why}"
    return Check(
        pull="", check=f"balance_{channel}", level=Level.LOOK, says=f"{says}.",
        remedy=_REMEDY.format(name_of(channel)), could_explain=percent,
    )  # fmt: skip


def _torque(contexts: Sequence[PullContext], session: Session) -> float | None:
    """Mean torque of the baseline, in newton metres."""
    means = [
        float(np.mean(context.corrected.torque))
        for context in contexts
        if context.used and context.build == session.baseline.name and context.corrected.torque.size
        and context.corrected.torque_kind is TorqueKind.MEASURED
    ]  # fmt: skip
    mean = float(np.mean(means)) if means else 0.0
    return mean if mean > 0.0 else None
