"""What a file that somebody already corrected was multiplied with, so that it can be taken back exactly."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.correct.rule import StandardFactor, mean_step
from pullbook.correct.standards import rule_of
from pullbook.errors import InputError, RefusalError
from pullbook.quantities.channels import Channel
from pullbook.records.build import Ignition, Induction
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pullbook.correct.rule import Conditions
    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.pull import Pull

__all__ = ["received_factor", "recorded_factor"]

_AGREES: Final = 0.005  # the file's own factor and that of the declared air may differ by half a per cent
_NAME: Final = "factor taken out"


def received_factor(pull: Pull, keep: BoolArray, conditions: Conditions, received: Standard) -> StandardFactor:
    """Gain and offset that turned observed torque into the torque of the file.

    The factor that the file itself records is used where there is one; otherwise that of the same air, in the form
    that benches use (without measured friction).

    Parameters
    ----------
    pull : Pull
        As measured.
    keep : (m,) array of bool
        Kept samples.
    conditions : Conditions
        At the kept samples.
    received : Standard
        What the file was corrected to.

    Returns
    -------
    StandardFactor
        Ones where the file is as observed.

    Raises
    ------
    RefusalError
        If the air is not known, so that the correction cannot be undone.
    """
    if received is Standard.NONE:
        one = np.ones(conditions.speed_rpm.shape)
        return StandardFactor(gain=one, offset=np.zeros(one.shape), flags=_unused_factor(pull, keep))
    computed, why_not = _computed(conditions, received)
    recorded = recorded_factor(pull, keep)
    if recorded is not None:
        return _from_file(recorded, computed, received)
    if computed is None:
        raise RefusalError(
            f"the correction to {received} that the file came with cannot be taken out, because {why_not.what}",
            where=pull.name, remedy=why_not.coded or why_not.remedy or "ask for the file as observed",
        )  # fmt: skip
    source = f"{received} from the same air, without measured friction, as the file was received"
    return replace(computed, steps=(mean_step(_NAME, computed.gain, "1", source),))


def recorded_factor(pull: Pull, keep: BoolArray) -> FloatArray | None:
    """Correction factor that the file records at each kept sample, None where it has none.

    Parameters
    ----------
    pull : Pull
        As measured.
    keep : (m,) array of bool
        Kept samples.

    Returns
    -------
    (n,) array of float or None
        Factor. [1]
    """
    channel = pull.channels.get(Channel.CORRECTION_FACTOR)
    if channel is None or not np.isfinite(channel[keep]).all() or np.any(channel[keep] <= 0.0):
        return None
    return channel[keep]


def _computed(conditions: Conditions, received: Standard) -> tuple[StandardFactor | None, InputError]:
    """Factor that the bench must have used, or why it cannot be known.

    A bench applies a standard to whatever stands on it. Where the standard is not meant for the engine, the factor is
    therefore that of a naturally aspirated engine with spark ignition, and that is said.
    """
    rule = rule_of(received)
    plain = replace(conditions, use_friction=False)
    why, _ = rule.misfit(conditions.engine)
    flags: tuple[str, ...] = ()
    if why:
        engine = replace(conditions.engine, ignition=Ignition.SPARK, induction=Induction.NATURAL)
        plain = replace(plain, engine=engine)
        flags = (f"{received} {why}; the bench used it all the same, and its factor was taken out.",)
    try:
        found = rule.factor(plain)
    except InputError as error:
        return None, error
    return replace(found, flags=(*flags, *found.flags)), InputError("")


def _from_file(recorded: FloatArray, computed: StandardFactor | None, received: Standard) -> StandardFactor:
    steps = (mean_step(_NAME, recorded, "1", f"recorded in the file beside torque corrected to {received}"),)
    flags: tuple[str, ...] = ()
    if computed is not None:
        apart = float(np.median(recorded / computed.gain)) - 1.0
        if abs(apart) > _AGREES:
            says = (
                f"The factor recorded in the file differs by {100 * apart:+.1f} % from that of {received} in this air"
            )
            flags = (f"{says}; the recorded one was taken out.",)
    return StandardFactor(gain=recorded, offset=np.zeros(recorded.shape), steps=steps, flags=flags)


def _unused_factor(pull: Pull, keep: BoolArray) -> tuple[str, ...]:
    recorded = recorded_factor(pull, keep)
    if recorded is None or float(np.max(np.abs(recorded - 1.0))) < 1e-3:
        return ()
    says = f"The file records a correction factor of {float(np.median(recorded)):.4g}, but is declared as observed"
    return (f"{says}; if its torque was corrected, write received = with the name of the standard.",)
