"""How often pooled intervals, and ranges for the next engine, hold what is true in simulated sets of sessions.

The doubt within a session is estimated with 14 to 20 degrees of freedom, as sessions with a history have it. The three
heterogeneities are shares of the variance of a usual session's estimate that lie between sessions: 0, 47 and 86 %.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.pooling import pool_effects
from pullbook.curves.pooling_curve import pool_curves
from pullbook.curves.pooling_mean import pooled_mean, random_effects

if TYPE_CHECKING:
    from pullbook.curves.pooling import PooledEffect
    from pullbook.quantities.arrays import FloatArray

SESSIONS = (3, 4, 6, 10, 20)
HETEROGENEITIES = (0.0, 0.47, 0.86)
PRECISIONS = ("alike", "as they come", "one ten times as precise")


def _true_sd(precision: str, count: int, generator: np.random.Generator) -> FloatArray:
    """Standard error of each session, about one; 'as they come': log-normal with 0.35."""
    if precision == "as they come":
        return np.exp(0.35 * generator.standard_normal(count))
    sd = np.ones(count)
    if precision != "alike":
        sd[0] = np.sqrt(0.1)
    return sd


def _estimated(sd: FloatArray, generator: np.random.Generator) -> FloatArray:
    freedom = 12 + generator.choice([2, 4, 8], sd.size)
    estimated: FloatArray = sd * np.sqrt(generator.chisquare(freedom) / freedom)
    return estimated


def effects_of(
    count: int, heterogeneity: float, precision: str, generator: np.random.Generator
) -> tuple[FloatArray, FloatArray, float]:
    """Estimates whose true mean is zero, their standard errors, and the true effect on one more engine."""
    between = np.sqrt(heterogeneity / (1.0 - heterogeneity))
    sd = _true_sd(precision, count, generator)
    effect = between * generator.standard_normal(count) + sd * generator.standard_normal(count)
    return effect, _estimated(sd, generator), float(between * generator.standard_normal())


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Shares of the sets in which each rule held, and the median half-width of the printed interval. [%], [1]"""

    name: str
    printed: float
    truncated: float
    plain: float
    z: float
    following: float
    half_width: float

    def row(self) -> str:
        """Row of the table."""
        return (
            f"| {self.name} | {self.printed:.1f} | {self.truncated:.1f} | {self.plain:.1f} | {self.z:.1f} "
            f"| {self.half_width:.2f} | {self.following:.1f} |"
        )


HEAD = (
    "| sessions, variance between them, precision | printed | REML, truncated | REML, plain | DL, normal "
    "| half-width, printed | range for the next engine |\n| --- | --- | --- | --- | --- | --- | --- |"
)


def _held(pooled: PooledEffect, effect: FloatArray, sd: FloatArray, following: float) -> list[float]:
    plain = pooled.reml.interval(pooled.confidence, smallest_ratio=0.0)
    moments = random_effects(effect, sd, "dersimonian-laird")
    low, high = pooled.prediction or (np.nan, np.nan)
    return [
        pooled.printed.low <= 0.0 <= pooled.printed.high,
        pooled.reml_low <= 0.0 <= pooled.reml_high,
        plain[0] <= 0.0 <= plain[1],
        abs(moments.mean) <= 1.959964 * moments.model_se,
        low <= following <= high,
        0.5 * (pooled.printed.high - pooled.printed.low),
    ]


def rates(count: int, heterogeneity: float, precision: str, sets: int, seed: int = 2026) -> Held:
    """Simulate so many sets of sessions."""
    generator = np.random.default_rng([seed, count, round(100 * heterogeneity), PRECISIONS.index(precision)])
    rows = []
    for _ in range(sets):
        effect, sd, following = effects_of(count, heterogeneity, precision, generator)
        rows.append(_held(pool_effects(effect, sd), effect, sd, following))
    found = np.array(rows)
    share = 100.0 * found[:, :5].mean(axis=0)
    return Held(
        name=f"{count}, {100 * heterogeneity:.0f} %, {precision}",
        printed=float(share[0]),
        truncated=float(share[1]),
        plain=float(share[2]),
        z=float(share[3]),
        following=float(share[4]),
        half_width=float(np.median(found[:, 5])),
    )


def printed_coverage(count: int, sets: int, seed: int) -> float:
    """Share of sets in which the printed interval held, all heterogeneities together, sessions as they come. [%]"""
    generator = np.random.default_rng([seed, count])
    held = 0
    for heterogeneity in HETEROGENEITIES:
        for _ in range(sets):
            effect, sd, _ = effects_of(count, heterogeneity, "as they come", generator)
            one = pooled_mean(effect, sd)
            held += one.low <= 0.0 <= one.high
    return 100.0 * held / (sets * len(HETEROGENEITIES))


_SPEED_RPM = np.linspace(2000.0, 6500.0, 91)


def _root(length_rpm: float) -> FloatArray:
    s = np.sqrt(5.0) * np.abs(_SPEED_RPM[:, None] - _SPEED_RPM[None, :]) / length_rpm
    root: FloatArray = np.linalg.cholesky((1 + s + s**2 / 3) * np.exp(-s) + 1e-9 * np.eye(s.shape[0]))
    return root


def curve_rates(count: int, heterogeneity: float, sets: int, seed: int = 2026) -> tuple[float, float]:
    """Share of sets in which the band of the mean held at all speeds, and that for the next engine. [%]

    The error of a session is level and shape of equal variance, the shape with a length of 400 rpm; what the engines
    differ by is half level, half shape with a length of 1,200 rpm. The scalar is the mean from 3,000 to 5,000 rpm.
    """
    generator = np.random.default_rng([seed, count, round(100 * heterogeneity)])
    window = (_SPEED_RPM >= 3000.0) & (_SPEED_RPM <= 5000.0)
    near, far = _root(400.0), _root(1200.0)
    between = np.sqrt(heterogeneity / (1.0 - heterogeneity))

    def curve(root: FloatArray) -> FloatArray:
        shape: FloatArray = root @ generator.standard_normal(_SPEED_RPM.size)
        both: FloatArray = np.sqrt(0.5) * (generator.standard_normal() + shape)
        return both

    some = np.sqrt(0.5) * (
        generator.standard_normal((4000, 1)) + generator.standard_normal((4000, _SPEED_RPM.size)) @ near.T
    )
    window_sd, factor = float(some[:, window].mean(axis=1).std()), float(np.quantile(np.abs(some).max(axis=1), 0.95))
    mean_held = next_held = 0
    for _ in range(sets):
        sd = _true_sd("as they come", count, generator)
        effect = np.stack([between * curve(far) + one * curve(near) for one in sd])
        seen = _estimated(sd, generator)
        fit = pooled_mean(effect[:, window].mean(axis=1), window_sd * seen).fit
        pooled = pool_curves(effect, np.tile(seen[:, None], _SPEED_RPM.size), _SPEED_RPM, fit, np.full(count, factor))
        following = between * curve(far)
        mean_held += bool(np.all((pooled.low <= 0.0) & (pooled.high >= 0.0)))
        next_held += bool(np.all((pooled.next_low <= following) & (pooled.next_high >= following)))
    return 100.0 * mean_held / sets, 100.0 * next_held / sets


CURVE_HEAD = "| sessions, variance between them | band of the mean | band for the next engine |\n| --- | --- | --- |"


def main() -> None:
    """Print the tables, row by row."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=4000)
    parser.add_argument("--curves", type=int, default=2000)
    asked = parser.parse_args()
    sys.stdout.write(HEAD + "\n")
    for precision in PRECISIONS:
        for count in SESSIONS:
            for heterogeneity in HETEROGENEITIES:
                sys.stdout.write(rates(count, heterogeneity, precision, asked.sets).row() + "\n")
                sys.stdout.flush()
    sys.stdout.write("\n" + CURVE_HEAD + "\n")
    for count in SESSIONS:
        for heterogeneity in HETEROGENEITIES:
            mean, following = curve_rates(count, heterogeneity, asked.curves)
            sys.stdout.write(f"| {count}, {100 * heterogeneity:.0f} % | {mean:.1f} | {following:.1f} |\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
