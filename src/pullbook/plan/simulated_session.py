"""A planned session as it might turn out: pulls of builds that are all alike, with the scatter that is believed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.kernels import matern52
from pullbook.plan.odds import drawn_sizes
from pullbook.records.comparison import ComparablePull

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.plan import Step
    from pullbook.records.plan_terms import ScatterBelief

__all__ = ["PlannedPulls", "planned_pulls", "simulate_pulls"]

_FINE: Final = 121
_SAMPLES: Final = (80, 200)
_TORQUE: Final = 200.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlannedPulls:
    """Build, fitting and time of every pull that is planned.

    Attributes
    ----------
    builds : tuple of str
        Build of each pull.
    fitting : (n,) array of int
        Its fitting, from 0.
    hours : (n,) array of float
        When it is made, from the first. [h]
    span : tuple of (float, float)
        Range of speed. [rpm]
    """

    builds: tuple[str, ...]
    fitting: IntArray
    hours: FloatArray
    span: tuple[float, float]


def planned_pulls(steps: Sequence[Step], pull: float, span: tuple[float, float]) -> PlannedPulls:
    """Pulls of the steps of an order.

    Parameters
    ----------
    steps : sequence of Step
        The run order. [s]
    pull : float
        From one pull to the next. [s]
    span : tuple of (float, float)
        Range of speed. [rpm]

    Returns
    -------
    PlannedPulls
        In run order. [h]
    """
    first = steps[0].start
    each = [(step.build, step.fitting - 1, step.start - first + n * pull) for step in steps for n in range(step.pulls)]
    return PlannedPulls(
        builds=tuple(build for build, _, _ in each),
        fitting=np.array([fitting for _, fitting, _ in each]),
        hours=np.array([seconds for _, _, seconds in each]) / 3600.0,
        span=span,
    )


def simulate_pulls(
    planned: PlannedPulls, belief: ScatterBelief, generator: np.random.Generator,
    gains: Mapping[str, float] | None = None,
) -> tuple[ComparablePull, ...]:  # fmt: skip
    """Pulls of one session whose scatter is drawn from the belief.

    Each pull has a level, a smooth error and white noise at uneven speeds, each fitting a level and a shape of its own,
    and the level drifts and wanders.

    Parameters
    ----------
    planned : PlannedPulls
        The order. [h]
    belief : ScatterBelief
        Sizes of the scatter, which vary from session to session. [%]
    generator : numpy.random.Generator
        Source of randomness.
    gains : mapping of str to float or None
        True gain of a build at all speeds; none where it is not named. [%]

    Returns
    -------
    tuple of ComparablePull
        In run order. [N m, s]
    """
    size = {name: float(values[0]) for name, values in drawn_sizes(belief, 1, generator).items()}
    fine = np.linspace(*planned.span, _FINE)
    root = _root(fine, size["length_rpm"])
    hours, count = planned.hours, int(planned.fitting.max()) + 1
    refit = size["refit"] * generator.standard_normal(count)[:, None] + size["shape"] * size["refit_shape"] * (
        generator.standard_normal((count, _FINE)) @ root.T
    )
    steps = np.sqrt(np.diff(hours, prepend=hours[0])) * generator.standard_normal(hours.size)
    level = (
        size["walk"] * np.cumsum(steps)
        + size["drift"] * generator.standard_normal() * hours
        + size["pull"] * generator.standard_normal(hours.size)
    )
    shape = size["shape"] * (generator.standard_normal((hours.size, _FINE)) @ root.T)
    pulls: list[ComparablePull] = []
    for number, build in enumerate(planned.builds):
        curve = (gains or {}).get(build, 0.0) + level[number] + shape[number] + refit[planned.fitting[number]]
        speed = _speeds(planned.span, generator)
        percent = np.interp(speed, fine, curve) + size["white"] * generator.standard_normal(speed.size)
        pulls.append(
            ComparablePull(
                name=f"{number + 1}", build=build, fitting=int(planned.fitting[number]),
                time=float(3600.0 * hours[number]), speed_rpm=speed,
                torque=_torque(speed, planned.span) * (1.0 + percent / 100.0),
            )
        )  # fmt: skip
    return tuple(pulls)


def _root(speed: FloatArray, length_rpm: float) -> FloatArray:
    """Root of the covariance of a shape error; its mean over the range is part of the level, and taken out here."""
    value, vector = np.linalg.eigh(matern52(speed[:, None] - speed[None, :], length_rpm))
    root = vector * np.sqrt(np.maximum(value, 0.0))
    centred: FloatArray = root - root.mean(axis=0)
    return centred


def _speeds(span: tuple[float, float], generator: np.random.Generator) -> FloatArray:
    """Uneven speeds that reach a little beyond the range, as a bench writes them. [rpm]."""
    beyond = 0.02 * (span[1] - span[0])
    steps = np.cumsum(np.exp(0.4 * generator.standard_normal(int(generator.integers(*_SAMPLES)))))
    speeds: FloatArray = (
        span[0] - beyond + (span[1] - span[0] + 2.0 * beyond) * (steps - steps[0]) / (steps[-1] - steps[0])
    )
    return speeds


def _torque(speed: FloatArray, span: tuple[float, float]) -> FloatArray:
    """Torque of every build: a hill with its top in the middle, falling so that power has its peak in the range."""
    along = (speed - span[0]) / (span[1] - span[0])
    torque: FloatArray = _TORQUE * (1.0 - 0.12 * ((along - 0.5) / 0.5) ** 2 - 3.0 * np.maximum(along - 0.75, 0.0) ** 2)
    return torque
