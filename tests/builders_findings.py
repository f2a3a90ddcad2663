"""Findings made by hand: plausible numbers from formulas, for tests of whatever is done with findings.

Two runners (340 and 260 mm) times two headers (4-1 and 4-2-1) on a four-cylinder engine: short runners lose below
about 4300 rpm and gain above it, the 4-2-1 header gains in the middle. Nothing here was measured.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.records.curve import CurveBand, Interval, Peak
from pullbook.records.effect import CrossoverShift, Effect, Interaction
from pullbook.records.finding import BuildFinding, Crossover, Difference, Findings, PossibleCrossover
from pullbook.records.pull import TorqueKind
from pullbook.records.scatter import BadPull, Detectable, Repeatability
from pullbook.records.verdict import ClaimFinding, Refusal, Verdict
from pullbook.records.window import WindowGain

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["GRID_RPM", "WINDOWS", "make_bandless_findings", "make_findings", "make_relative_findings", "torque_of"]

GRID_RPM: Final = np.arange(2000.0, 6501.0, 50.0)
WINDOWS: Final = ((2000.0, 3500.0), (3500.0, 5000.0), (5000.0, 6500.0))
HALF_PERCENT: Final = 1.1  # half-width of a band of a difference
NAN: Final = float("nan")


def _bump(speed_rpm: FloatArray, centre: float, width: float) -> FloatArray:
    return np.asarray(np.exp(-(((speed_rpm - centre) / width) ** 2)))


def torque_of(build: str, speed_rpm: FloatArray) -> FloatArray:
    """Torque in N m of builds A (long, 4-1), B (short, 4-1), C (long, 4-2-1) and D (short, 4-2-1)."""
    torque = 172.0 + 38.0 * _bump(speed_rpm, 4600.0, 2300.0)
    torque = torque + (9.0 * _bump(speed_rpm, 5600, 900) - 6.0 * _bump(speed_rpm, 3300, 900) if build in "BD" else 0.0)
    return torque + (5.0 * _bump(speed_rpm, 4200, 700) - 2.0 * _bump(speed_rpm, 6200, 500) if build in "CD" else 0.0)


def _power(torque: FloatArray) -> FloatArray:
    return np.asarray(torque * GRID_RPM * np.pi / 30.0)


def _band(mean: FloatArray, half: FloatArray | float) -> CurveBand:
    return CurveBand(mean=mean, low=mean - half, high=mean + half)


def _interval(value: float, half: float) -> Interval:
    return Interval(value=float(value), low=float(value - half), high=float(value + half))


def _peak(curve: CurveBand, spread_rpm: float) -> Peak:
    at = int(np.nanargmax(curve.mean))
    rpm = float(GRID_RPM[at])
    return Peak(
        value=float(curve.mean[at]), low=float(curve.low[at]), high=float(curve.high[at]),
        rpm=rpm, rpm_low=max(rpm - spread_rpm, 2000.0), rpm_high=min(rpm + spread_rpm, 6500.0),
    )  # fmt: skip


def _build(name: str, pulls: int) -> BuildFinding:
    mean = torque_of(name, GRID_RPM)
    torque, power = _band(mean, 0.012 * mean), _band(_power(mean), 0.012 * _power(mean))
    return BuildFinding(
        name=name, pulls=pulls, fittings=2 if name == "A" else 1, torque=torque, power=power,
        peak_torque=_peak(torque, 250.0), peak_power=_peak(power, 150.0),
    )  # fmt: skip


def _windows(mean: FloatArray) -> tuple[WindowGain, ...]:
    reference = torque_of("A", GRID_RPM)
    gains = []
    for low, high in WINDOWS:
        inside = (low <= GRID_RPM) & (high >= GRID_RPM)
        gain, level = float(mean[inside].mean()), float(reference[inside].mean())
        gains.append(
            WindowGain(
                from_rpm=low, to_rpm=high, torque=_interval(gain, 1.3),
                power=_interval(float(_power(mean)[inside].mean()), 1.3 * float(_power(np.ones(91))[inside].mean())),
                percent=_interval(100 * gain / level, 130 / level), classical=_interval(gain, 1.6),
            )
        )  # fmt: skip
    return tuple(gains)


def _difference(of: str, from_: str) -> Difference:
    mean = torque_of(of, GRID_RPM) - torque_of(from_, GRID_RPM)
    reference = torque_of("A", GRID_RPM)
    half = HALF_PERCENT / 100 * reference
    signs = np.flatnonzero(np.diff(np.sign(mean)))
    cross = float(np.interp(0.0, mean[signs[0] : signs[0] + 2], GRID_RPM[signs[0] : signs[0] + 2])) if signs.size else 0
    certain = of in "BD" and cross > 0
    crossing = Crossover(
        rpm=cross, low=cross - 95, high=cross + 110, zone_low=cross - 180, zone_high=cross + 200, sign_above=1
    )
    return Difference(
        of=of, from_=from_, torque=_band(mean, half), power=_band(_power(mean), _power(half)),
        percent=_band(100 * mean / reference, HALF_PERCENT),
        crossovers=(crossing,) if certain else (),
        possible_crossovers=() if certain else (PossibleCrossover(low=5550.0, high=6050.0),),
        windows=_windows(mean), peak_torque=_interval(float(mean.max()) / 3, 1.9),
        peak_power=_interval(float(_power(mean)[80]), 1200.0), detectable=1.35,
    )  # fmt: skip


def _effect(factor: str, levels: tuple[str, str], of: str) -> Effect:
    difference = _difference(of, "A")
    return Effect(
        factor=factor, from_level=levels[0], to_level=levels[1], torque=difference.torque, power=difference.power,
        windows=difference.windows,
    )  # fmt: skip


def _repeatability() -> Repeatability:
    return Repeatability(
        sd=Interval(value=0.42, low=0.31, high=0.63), r=1.18, sd_curve=0.4 + 0.2 * _bump(GRID_RPM, 2000.0, 600.0),
        refit_sd=Interval(value=0.5, low=0.1, high=1.2), refit_assumed=False,
        drift_per_hour=Interval(value=-0.21, low=-0.48, high=0.06), self_check_ratio=0.94,
    )  # fmt: skip


def _claims() -> tuple[ClaimFinding, ...]:
    return (
        ClaimFinding(
            id="short-runners-top", verdict=Verdict.SUPPORTED, estimate=9100.0, low=8200.0, high=10000.0, unit="W",
            p_false=0.0021, p_true=0.98, why="the whole interval lies above 8 kW",
        ),
        ClaimFinding(
            id="header-peak-torque", verdict=Verdict.REFUTED, estimate=1.2, low=-0.7, high=3.1, unit="N m",
            p_false=0.99, p_true=0.0004, why="the whole interval lies below 8 N m",
        ),
        ClaimFinding(
            id="short-runners-middle", verdict=Verdict.UNDETERMINED, estimate=0.6, low=-0.7, high=1.9, unit="N m",
            p_false=0.3, p_true=0.4, why="the interval contains the limit of 0.5 N m", needs="6 more pulls of each",
        ),
    )  # fmt: skip


def make_findings(*, names: str = "ABCD", **changes: Any) -> Findings:
    """Findings of the builds named by one letter each, with any field of `Findings` replaced."""
    others = names.replace("A", "")
    levels = {"runners": ("340 mm", "260 mm"), "header": ("4-1", "4-2-1")}
    crossed = {"B", "D"} <= set(names)
    findings = Findings(
        confidence=0.95, grid_rpm=GRID_RPM, torque_kind=TorqueKind.MEASURED, baseline="A",
        reference_torque=torque_of("A", GRID_RPM), resolution_rpm=180.0, has_bands=True, seed=20260504,
        repeatability=_repeatability(),
        builds=tuple(_build(name, 3) for name in names),
        differences=tuple(_difference(name, "A") for name in others),
        effects=tuple(
            _effect(factor, levels[factor], of) for factor, of in (("runners", "B"), ("header", "C")) if of in names
        ),
        interactions=(
            Interaction(
                factor="runners", from_level="340 mm", to_level="260 mm", with_factor="header", level="4-1",
                other_level="4-2-1", torque=_band(np.zeros(GRID_RPM.size), 3.4), differs=False,
                differs_from_rpm=None, differs_to_rpm=None, smallest_margin=3.9,
            ),
        ) if crossed else (),
        crossover_shifts=(
            CrossoverShift(first=("B", "A"), second=("D", "A"), shift=Interval(value=-40.0, low=-260.0, high=170.0)),
        ) if crossed else (),
        claims=_claims(),
        bad_pulls=(BadPull(pull="pulls/a2.csv", build="A", p=0.031, from_rpm=2600.0, to_rpm=3100.0),),
        detectable=(Detectable(of="B", from_="A", from_rpm=2000.0, to_rpm=3500.0, percent=1.35),),
        refusals=(Refusal(what="4500 to 4700 rpm of B - A", why="the smoothing of 180 rpm hides so narrow a feature"),),
        assumptions=("The drift of the session is taken as linear.",),
    )  # fmt: skip
    return replace(findings, **changes)


def _blank(band: CurveBand) -> CurveBand:
    nothing = np.full(band.mean.shape, NAN)
    return CurveBand(mean=band.mean, low=nothing, high=nothing)


def make_bandless_findings(*, names: str = "AB") -> Findings:
    """Findings of one pull per build and no history: means only, no doubt stated, no claim decided."""
    full = make_findings(names=names)
    builds = tuple(
        replace(
            build, pulls=1, fittings=1, torque=_blank(build.torque), power=_blank(build.power) if build.power else None,
            peak_torque=None, peak_power=None,
        ) for build in full.builds
    )  # fmt: skip
    differences = tuple(
        replace(
            gain, torque=_blank(gain.torque), power=_blank(gain.power) if gain.power else None,
            percent=_blank(gain.percent), crossovers=(), possible_crossovers=(), windows=(), peak_torque=None,
            peak_power=None, detectable=None,
        ) for gain in full.differences
    )  # fmt: skip
    undecided = tuple(
        replace(claim, verdict=Verdict.UNDETERMINED, low=NAN, high=NAN, p_false=NAN, p_true=NAN)
        for claim in full.claims
    )
    return replace(
        full, has_bands=False, repeatability=None, builds=builds, differences=differences, effects=(),
        interactions=(), crossover_shifts=(), claims=undecided, bad_pulls=(), detectable=(),
        refusals=(Refusal(what="bands", why="every build has one pull only and there is no history of this bench"),),
    )  # fmt: skip


def make_relative_findings(*, names: str = "AB") -> Findings:
    """Findings of a load signal in volts: every torque in per cent of the baseline, no power at all."""
    full = make_findings(names=names)
    reference = full.reference_torque

    def percent(band: CurveBand) -> CurveBand:
        return CurveBand(
            mean=100 * band.mean / reference, low=100 * band.low / reference, high=100 * band.high / reference
        )

    def windows(gains: tuple[WindowGain, ...]) -> tuple[WindowGain, ...]:
        return tuple(replace(gain, torque=gain.percent, power=None, classical=None) for gain in gains)

    return replace(
        full, torque_kind=TorqueKind.RELATIVE, reference_torque=reference / 60.0,
        builds=tuple(
            replace(build, torque=percent(build.torque), power=None, peak_torque=None, peak_power=None)
            for build in full.builds
        ),
        differences=tuple(
            replace(
                gain, torque=gain.percent, power=None, windows=windows(gain.windows), peak_torque=None, peak_power=None
            ) for gain in full.differences
        ),
        effects=tuple(
            replace(effect, torque=percent(effect.torque), power=None, windows=windows(effect.windows))
            for effect in full.effects if effect.torque is not None
        ),
        claims=tuple(replace(claim, unit="%") for claim in full.claims if claim.unit != "W"),
    )  # fmt: skip
