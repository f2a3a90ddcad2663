"""One pull to reference air and steady speed, with every value met on the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.correct.air import AirTrace, trace_air
from pullbook.correct.channel_trace import bridged, running_median
from pullbook.correct.inertia import acceleration_of, inertia_torque
from pullbook.correct.plausible_air import check_declared_air
from pullbook.correct.received import received_factor
from pullbook.correct.rule import Conditions, mean_step
from pullbook.correct.standards import rule_of
from pullbook.errors import InputError, OutOfRangeError, RefusalError, Way
from pullbook.quantities.channels import Channel
from pullbook.records.corrected import CorrectedPull, CorrectionStep
from pullbook.records.declaration import Standard
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.build import Engine
    from pullbook.records.declaration import Air
    from pullbook.records.pull import Pull

__all__ = ["correct_pull"]

_HEAVIEST: Final = 500.0  # kg m^2: a large marine engine with its flywheel; beyond it a unit is wrong


def correct_pull(
    pull: Pull,
    *,
    air: Air,
    engine: Engine,
    standard: Standard,
    received: Standard = Standard.NONE,
    inertia: float | None = None,
) -> CorrectedPull:
    r"""Pull at reference air and without the torque that its own acceleration took.

    .. math:: T_c = f \, (T + J\,d\omega/dt)

    with the factor of `standard`. A file that was corrected by somebody else is first taken back to what was observed,
    with the factor of `received` for the same air. Power is never corrected for itself: it is corrected torque times
    speed.

    Parameters
    ----------
    pull : Pull
        As measured.
    air : Air
        Weather as written down; channels of the file win over it.
    engine : Engine
        Induction, ignition, measured friction and the like.
    standard : Standard
        What to correct to.
    received : Standard
        What the numbers of the file were already corrected to; NONE for observed.
    inertia : float or None
        Rotating inertia on the engine's side of the torque measurement; None to leave the sweep as it is. [kg m^2]

    Returns
    -------
    CorrectedPull
        Samples with finite speed and torque, in the order of the file, with steps and flags. Torque is
        ``(torque of the file + inertia_torque) * factor``. [N m]

    Raises
    ------
    InputError
        If the standard is not meant for the engine, or air that it needs was not written down.
    OutOfRangeError
        If the air cannot be breathed by an engine, or the inertia is no inertia.
    RefusalError
        If the file was corrected to another standard and that cannot be undone.

    Notes
    -----
    A relative signal (volts) is multiplied by the factor too, which holds as far as its zero is at zero torque; its
    inertia torque cannot be added. The correction factor removes neither oil and coolant temperature, nor fuel, spark
    and mixture, nor exhaust gas drawn back into the cell.

    Examples
    --------
    >>> from pullbook.records.build import Engine
    >>> from pullbook.records.declaration import Air
    >>> from pullbook.records.pull import Direction, Pull
    >>> from pullbook.records.table import SourceFile
    >>> file = SourceFile(name="a1.csv", sha256="", size=0, layout="")
    >>> speed, torque = np.array([3000.0, 4000.0]), np.array([200.0, 210.0])
    >>> pull = Pull(name="a1.csv", source=file, direction=Direction.UP, rows=np.array([2, 3]),
    ...             channels={Channel.SPEED: speed, Channel.TORQUE: torque})
    >>> warm = Air(temperature=303.15, pressure=98_000.0, humidity=0.60)
    >>> correct_pull(pull, air=warm, engine=Engine(), standard=Standard.SAE_J1349).torque.round(2)
    array([210.82, 221.36])
    """
    check_declared_air(air, where=pull.name)
    _check_inertia(inertia, pull.name)
    if pull.torque_kind is TorqueKind.RELATIVE and received not in {Standard.NONE, standard}:
        raise RefusalError(
            f"a signal without calibration cannot have been corrected to {received}", where=pull.name,
            remedy='write received = "observed", or give the calibration of the signal',
        )  # fmt: skip
    keep = _kept(pull)
    trace = _trace(pull, keep, air, {standard, received})
    conditions = _conditions(pull, keep, engine, trace)
    added = _inertia_part(pull, keep, inertia)
    if received is standard and standard is not Standard.NONE:
        return _left_as_received(pull, keep, conditions, standard, added)
    taken = received_factor(pull, keep, conditions, received)
    factor = rule_of(standard).factor(conditions)
    recorded = _signal(pull)[keep]
    torque = factor.gain * ((recorded - taken.offset) / taken.gain + added.torque) + factor.offset
    in_file = added.torque * taken.gain
    return CorrectedPull(
        pull=pull, standard=standard, speed_rpm=conditions.speed_rpm, torque=torque,
        factor=_ratio(torque, recorded + in_file, factor.gain / taken.gain), inertia_torque=in_file,
        rows=pull.rows[keep], torque_kind=pull.torque_kind,
        steps=(*trace.steps, *taken.steps, *added.steps, *factor.steps),
        flags=(*trace.flags, *taken.flags, *added.flags, *factor.flags, *_relative_flag(pull, standard)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Added:
    """Inertia torque to add to observed torque."""

    torque: FloatArray
    steps: tuple[CorrectionStep, ...] = ()
    flags: tuple[str, ...] = ()


def _check_inertia(inertia: float | None, where: str) -> None:
    if inertia is not None and not 0.0 <= inertia <= _HEAVIEST:
        raise OutOfRangeError(
            f"the inertia is outside 0 to {_HEAVIEST:g} kg m^2", where=where, value=f"{inertia:g} kg m^2",
            remedy="write what turns on the engine's side of the torque measurement, about 0.1 to 5 kg m^2 for a car",
        )  # fmt: skip


def _signal(pull: Pull) -> FloatArray:
    relative = pull.torque_kind is TorqueKind.RELATIVE
    return pull.channels[Channel.LOAD_SIGNAL if relative else Channel.TORQUE]


def _kept(pull: Pull) -> BoolArray:
    keep = np.isfinite(pull.channels[Channel.SPEED]) & np.isfinite(_signal(pull))
    if not keep.any():
        raise InputError(
            "no row has both speed and torque", where=pull.name, remedy=Way.LOOK.said("look at its columns")
        )
    return np.asarray(keep)


def _trace(pull: Pull, keep: BoolArray, air: Air, standards: set[Standard]) -> AirTrace:
    """Air of the kept samples; not looked at where no standard asks for it, so that a dead sensor does no harm."""
    if standards == {Standard.NONE}:
        unknown = np.full(int(np.count_nonzero(keep)), np.nan)
        return AirTrace(temperature=unknown, pressure=unknown, vapour=unknown)
    return trace_air(pull, keep, air)


def _conditions(pull: Pull, keep: BoolArray, engine: Engine, trace: AirTrace) -> Conditions:
    return Conditions(
        engine=engine, speed_rpm=pull.channels[Channel.SPEED][keep], temperature=trace.temperature,
        pressure=trace.pressure, vapour=trace.vapour, fuel_flow=_channel(pull, keep, Channel.FUEL_FLOW),
        manifold_pressure=_channel(pull, keep, Channel.MANIFOLD_PRESSURE),
        use_friction=pull.torque_kind is TorqueKind.MEASURED, where=pull.name,
    )  # fmt: skip


def _channel(pull: Pull, keep: BoolArray, channel: Channel) -> FloatArray:
    """Kept samples of a channel, gaps bridged and single glitches taken out; NaN where the file has none."""
    recorded = pull.channels.get(channel)
    if recorded is None or not np.isfinite(recorded[keep]).any():
        return np.full(int(np.count_nonzero(keep)), np.nan)
    return running_median(bridged(recorded[keep]))


def _inertia_part(pull: Pull, keep: BoolArray, inertia: float | None) -> _Added:
    nothing = np.zeros(int(np.count_nonzero(keep)))
    if not inertia:
        return _Added(torque=nothing)
    if pull.torque_kind is TorqueKind.RELATIVE:
        return _Added(
            torque=nothing,
            flags=("The inertia torque is in newton metres and cannot be added to a signal without calibration.",),
        )
    acceleration = acceleration_of(pull)
    torque = inertia_torque(acceleration.sweep_rate, inertia)[keep]
    missing = ~np.isfinite(torque)
    if missing.all():
        raise InputError(
            "the sweep rate cannot be found from time and speed", where=pull.name,
            remedy=Way.INERTIA.said("look at the time column, or take inertia out of the session file"),
        )  # fmt: skip
    flags = ("Samples without a time take the inertia torque of their neighbours.",) if missing.any() else ()
    steps = (
        CorrectionStep(name="inertia", value=inertia, unit="kg m^2", source="as declared"),
        *acceleration.steps,
        mean_step("inertia torque", torque[~missing], "N m", "inertia times angular acceleration"),
    )
    return _Added(torque=bridged(torque), steps=steps, flags=flags)


def _left_as_received(
    pull: Pull, keep: BoolArray, conditions: Conditions, standard: Standard, added: _Added
) -> CorrectedPull:
    """Torque as the file has it, because it was received at the session's standard; inertia at the same factor."""
    factor = np.ones(conditions.speed_rpm.shape)
    flags: tuple[str, ...] = (f"The file was received corrected to {standard} and is left as it is.",)
    steps: tuple[CorrectionStep, ...] = ()
    if np.any(added.torque):
        try:
            taken = received_factor(pull, keep, conditions, standard)
            factor, steps = np.asarray(taken.gain), taken.steps
        except RefusalError:
            flags = (*flags, "Its factor is not known, so that the inertia torque was added without one.")
    in_file = added.torque * factor
    return CorrectedPull(
        pull=pull, standard=standard, speed_rpm=conditions.speed_rpm, torque=_signal(pull)[keep] + in_file,
        factor=np.ones(factor.shape), inertia_torque=in_file, rows=pull.rows[keep], torque_kind=pull.torque_kind,
        steps=(*steps, *added.steps, mean_step("correction factor", np.ones(1), "1", "left as received")),
        flags=(*flags, *added.flags),
    )  # fmt: skip


def _ratio(over: FloatArray, under: FloatArray, where_zero: FloatArray) -> FloatArray:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(under != 0.0, over / under, where_zero))


def _relative_flag(pull: Pull, standard: Standard) -> tuple[str, ...]:
    if pull.torque_kind is TorqueKind.MEASURED or standard is Standard.NONE:
        return ()
    return (
        "The factor was applied to a signal without calibration, which holds as far as its zero is at zero torque.",
    )
