"""Simulated sessions with known truth: the noise model that error rates are measured with.

In per cent of torque: a pull has an offset (sd 0.4), a smooth error (sd 0.3, Matern-5/2 of 400 rpm) and white noise
(0.5) at 60 to 200 uneven speeds from 2000 to 6500 rpm. A bolt-up adds an offset (0.25) and a shape (0.15). The level
drifts by a slope (sd 0.4 %/h) and a random walk (0.25 %/sqrt h). A part swap takes 40 minutes, a pull 6.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from pullbook.records.build import Build
from pullbook.records.comparison import ComparablePull, Comparison
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

LOW_RPM, HIGH_RPM = 2000.0, 6500.0
FINE_RPM = np.linspace(LOW_RPM, HIGH_RPM, 181)
PULL_SECONDS, SWAP_SECONDS = 360.0, 2400.0
CONFIGURATIONS = tuple((cam, header, collector) for cam in (0, 1) for header in (0, 1) for collector in (0, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """Parameters of one kind of session."""

    offset: float = 0.4
    smooth: float = 0.3
    white: float = 0.5
    length_rpm: float = 400.0
    rough: bool = False
    heteroscedastic: bool = False
    vary: float = 0.3
    refit: float = 0.0
    refit_shape: float = 0.0
    drift: float = 0.0
    walk: float = 0.0

    def of_a_session(self, generator: np.random.Generator) -> Noise:
        """No session obeys the mean exactly: four parameters are multiplied by log-normal factors."""
        factor = np.exp(self.vary * generator.standard_normal(4))
        return replace(
            self,
            offset=self.offset * factor[0],
            smooth=self.smooth * factor[1],
            white=self.white * factor[2],
            length_rpm=self.length_rpm * factor[3],
        )


IID = Noise()
BENCH = Noise(refit=0.25, refit_shape=0.15, drift=0.4, walk=0.25)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Simulated:
    """A comparison, and what is true of it."""

    comparison: Comparison
    true_percent: dict[str, FloatArray]
    baseline_torque: FloatArray

    def torque(self, build: str, speed_rpm: FloatArray) -> FloatArray:
        """True torque of a build. [N m]"""
        return np.interp(speed_rpm, FINE_RPM, self.baseline_torque * (1.0 + self.true_percent[build] / 100.0))


def baseline_torque(speed_rpm: FloatArray) -> FloatArray:
    """Torque of the baseline: a hill with two humps of wave tuning. [N m]"""
    hill = 175.0 + 45.0 * np.exp(-(((speed_rpm - 4300.0) / 1500.0) ** 2))
    return hill + 4.0 * np.sin(2 * np.pi * speed_rpm / 1700.0) - 1.2e-6 * np.maximum(speed_rpm - 5200.0, 0.0) ** 2 * 20


def effects(speed_rpm: FloatArray) -> dict[str, FloatArray]:
    """Effects in per cent: header -1.5 below and +2 above about 4500 rpm, with ripple; others alike."""
    rise = 1.0 / (1.0 + np.exp(-(speed_rpm - 4500.0) / 350.0))
    ripple = 0.35 * np.sin(2 * np.pi * speed_rpm / 1300.0)
    return {
        "cam": 1.2 * np.tanh((speed_rpm - 4000.0) / 900.0) + 0.3 * np.sin(2 * np.pi * speed_rpm / 1600.0),
        "header": -1.5 + 3.5 * rise + ripple,
        "collector": 0.8 * np.exp(-(((speed_rpm - 3400.0) / 600.0) ** 2)) - 0.4,
        "cam:header": 0.5 * np.exp(-(((speed_rpm - 5200.0) / 500.0) ** 2)),
    }


def truth(count: int, *, different: bool = True) -> dict[str, FloatArray]:
    """True curves of the first builds, named A, B, C and so on, in per cent of the baseline."""
    part = effects(FINE_RPM)
    # Build B is the header alone, so that B - A crosses once.
    order = sorted(CONFIGURATIONS, key=lambda levels: (levels[0] + levels[2], levels))
    curves: dict[str, FloatArray] = {}
    for index, (cam, header, collector) in enumerate(order[:count]):
        curve = cam * part["cam"] + header * part["header"] + collector * part["collector"]
        curves["ABCDEFGH"[index]] = (curve + cam * header * part["cam:header"]) * different
    return curves


@cache
def _root(length_rpm: float, *, rough: bool) -> FloatArray:
    distance = np.abs(FINE_RPM[:, None] - FINE_RPM[None, :])
    s = np.sqrt(5.0) * distance / length_rpm
    covariance = np.exp(-distance / length_rpm) if rough else (1.0 + s + s**2 / 3.0) * np.exp(-s)
    value, vector = np.linalg.eigh(covariance)
    root: FloatArray = vector * np.sqrt(np.maximum(value, 0.0))
    return root


def smooth_error(noise: Noise, generator: np.random.Generator) -> FloatArray:
    """Curve of unit variance on the fine grid."""
    root = _root(round(noise.length_rpm / 10.0) * 10.0, rough=noise.rough)
    curve: FloatArray = root @ generator.standard_normal(FINE_RPM.size)
    return curve


def _profile(noise: Noise) -> FloatArray:
    """Scatter doubled around 2500 rpm where it is not constant."""
    return 1.0 + noise.heteroscedastic * np.exp(-0.5 * ((FINE_RPM - 2500.0) / 400.0) ** 2)


def _schedule(order: str, *, own_fitting: bool, timed: bool) -> tuple[list[int], list[float]]:
    fittings: list[int] = []
    times: list[float] = []
    time, fitting = 0.0, 0
    for index, build in enumerate(order):
        if index == 0 or own_fitting or build != order[index - 1]:
            fitting += 1
            time += SWAP_SECONDS if index else 0.0
        fittings.append(fitting)
        times.append(time if timed else 0.0)
        time += PULL_SECONDS
    return fittings, times


def _walk(times: FloatArray, noise: Noise, generator: np.random.Generator) -> FloatArray:
    hours = times / 3600.0
    steps = np.sqrt(np.diff(hours, prepend=0.0)) * generator.standard_normal(hours.size)
    slope = noise.drift * generator.standard_normal()
    drift: FloatArray = noise.walk * np.cumsum(steps) + slope * hours
    return drift


def simulate(  # noqa: PLR0913 - the order, the noise and four yes-or-no facts make a session
    order: str,
    noise: Noise,
    generator: np.random.Generator,
    *,
    different: bool = True,
    own_fitting: bool = False,
    timed: bool = True,
    draws: int = 4000,
) -> Simulated:
    """One session whose pulls were run in the given order of builds, as in 'AAABBBAAA'.

    `own_fitting`: every pull is a fitting of its own. `timed`: the pulls carry their times; otherwise all are zero.
    """
    session = noise.of_a_session(generator)
    names = sorted(set(order))
    percent = truth(len(names), different=different)
    fittings, times = _schedule(order, own_fitting=own_fitting, timed=timed)
    drift = _walk(np.array(times), session, generator)
    profile = _profile(session)
    refit = {
        fitting: session.refit * generator.standard_normal() + session.refit_shape * smooth_error(session, generator)
        for fitting in dict.fromkeys(fittings)
    }
    base = baseline_torque(FINE_RPM)
    pulls: list[ComparablePull] = []
    for index, build in enumerate(order):
        own = session.offset * generator.standard_normal() + session.smooth * smooth_error(session, generator)
        curve = percent[build] + drift[index] + refit[fittings[index]] + profile * own
        count = int(generator.integers(60, 201))
        steps = np.cumsum(np.exp(0.5 * generator.standard_normal(count - 1)))
        speed = LOW_RPM + (HIGH_RPM - LOW_RPM) * np.concatenate(([0.0], steps / steps[-1]))
        sampled = np.interp(speed, FINE_RPM, curve) + session.white * generator.standard_normal(count)
        torque = np.interp(speed, FINE_RPM, base) * (1.0 + sampled / 100.0)
        pulls.append(
            ComparablePull(
                name=f"{build.lower()}{index + 1}",
                build=build,
                fitting=fittings[index],
                time=times[index],
                speed_rpm=speed,
                torque=torque,
            )
        )
    comparison = Comparison(
        pulls=tuple(pulls),
        builds=tuple(Build(name=name, baseline=name == "A", levels={}) for name in names),
        baseline="A",
        torque_kind=TorqueKind.MEASURED,
        draws=draws,
    )
    return Simulated(comparison=comparison, true_percent=percent, baseline_torque=base)
