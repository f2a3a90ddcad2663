"""Simulated error rates of everything that is read off the joint draws: claims, crossovers, windows, peaks.

One call of `study` runs many sessions of one order and counts. Nothing here looks at how the answers are made: truths
come from the formulas of `noise_model`, and each rate is the share of sessions in which an answer and the truth differ.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from noise_model import CONFIGURATIONS, IID, Noise, Simulated, simulate

from pullbook.compare.claim_quantities import claim_quantity
from pullbook.compare.claims import decide_claims, judge
from pullbook.compare.differences import crossover_shifts, difference
from pullbook.compare.drawn import drawn_curves
from pullbook.compare.interactions import interactions_of
from pullbook.compare.joint import draw_jointly
from pullbook.compare.peaks import build_peaks, peak_of
from pullbook.records.build import Factor
from pullbook.records.declaration import Claim, Quantity
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison
    from pullbook.records.finding import Difference

WINDOW = (2500.0, 3500.0)
TOP = (5500.0, 6400.0)
# As the builds of the noise model are made: A plain, B header, C collector or cam, by the number of changes.
NAMES = ("cam", "header", "collector")
FACTORS = tuple(Factor(name=name, levels=("0", "1")) for name in NAMES)
LEVELS = sorted(CONFIGURATIONS, key=lambda levels: (levels[0] + levels[2], levels))


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One kind of session."""

    name: str
    order: str
    noise: Noise = IID
    own_fitting: bool = False
    timed: bool = True
    different: bool = True
    lift: float = 0.0  # per cent added to the torque of every build but the baseline


class Counter:
    """Shares of sessions."""

    def __init__(self) -> None:
        self.hits: defaultdict[str, int] = defaultdict(int)
        self.tries: defaultdict[str, int] = defaultdict(int)
        self.widths: defaultdict[str, list[float]] = defaultdict(list)

    def add(self, what: str, hit: Any) -> None:
        """Count one try."""
        self.tries[what] += 1
        self.hits[what] += bool(hit)

    def rate(self, what: str) -> float:
        """Share of hits in per cent, NaN where never tried."""
        return 100.0 * self.hits[what] / self.tries[what] if self.tries[what] else float("nan")


def lifted(session: Simulated, percent: float) -> Simulated:
    """The same session with the torque of every build but A raised."""
    if percent == 0.0:
        return session
    pulls = tuple(
        pull if pull.build == "A" else replace(pull, torque=pull.torque * (1.0 + percent / 100.0))
        for pull in session.comparison.pulls
    )
    true = {
        name: curve if name == "A" else (100.0 + curve) * (1.0 + percent / 100.0) - 100.0
        for name, curve in session.true_percent.items()
    }
    return replace(session, comparison=replace(session.comparison, pulls=pulls), true_percent=true)


def with_factors(comparison: Comparison) -> Comparison:
    """Builds with their levels of header and collector, and the windows."""
    builds = tuple(
        replace(build, levels=dict(zip(NAMES, map(str, levels), strict=True)))
        for build, levels in zip(comparison.builds, LEVELS, strict=False)
    )
    names = [build.name for build in builds]
    pairs = tuple((name, "A") for name in names[1:]) + ((("D", "C"),) if "D" in names else ())
    return replace(comparison, builds=builds, factors=FACTORS, windows=(WINDOW,), pairs=pairs)


class Truth:
    """True numbers of one session on the grid of its answers."""

    def __init__(self, session: Simulated, curves: DrawnCurves) -> None:
        self.session = session
        self.curves = curves
        self.fine = np.linspace(*curves.span_rpm, 4 * (curves.speed_rpm.size - 1) + 1)

    def torque(self, build: str, *, fine: bool = False) -> FloatArray:
        return self.session.torque(build, self.fine if fine else self.curves.speed_rpm)

    def gain(self, of: str = "B", from_: str = "A", *, fine: bool = False) -> FloatArray:
        return self.torque(of, fine=fine) - self.torque(from_, fine=fine)

    def mean(self, curve: FloatArray, window: tuple[float, float]) -> float:
        """Mean over a window by the trapezoidal rule on whole grid points."""
        speed = self.curves.speed_rpm
        inside = (speed >= window[0]) & (speed <= window[1])
        return float(np.trapezoid(curve[inside], speed[inside]) / (window[1] - window[0]))

    def power(self, curve: FloatArray) -> FloatArray:
        return curve * self.curves.speed_rpm * np.pi / 30.0

    def crossings(self, of: str = "B", from_: str = "A") -> FloatArray:
        values = self.gain(of, from_, fine=True)
        at = np.flatnonzero(values[:-1] * values[1:] < 0.0)
        part = values[at] / (values[at] - values[at + 1])
        return self.fine[at] + part * (self.fine[at + 1] - self.fine[at])


def _claim(name: str, **fields: Any) -> Claim:
    plain: dict[str, Any] = {"id": name, "says": name, "of": "B", "from_": "A", "quantity": Quantity.TORQUE}
    return Claim(**{**plain, **fields})


def boundary_claims(truth: Truth) -> tuple[Claim, ...]:
    """Claims of which the number is exactly the truth."""
    gain, base = truth.gain(), truth.torque("A")
    at = truth.curves.speed_rpm.tolist().index(3000.0)
    peaks = [float(truth.power(truth.torque(name)).max()) for name in "BA"]
    window, power = truth.mean(gain, WINDOW), truth.mean(truth.power(gain), WINDOW)
    share = window / truth.mean(base, WINDOW)
    return (
        _claim("speed", where=(3000.0, 3000.0), at_least=float(gain[at])),
        _claim("window", where=WINDOW, at_least=window),
        _claim("window power", where=WINDOW, at_most=power, quantity=Quantity.POWER),
        _claim("window percent", where=WINDOW, at_least=share, in_percent=True),
        _claim("peak power", where=None, at_least=peaks[0] - peaks[1], quantity=Quantity.POWER),
    )


def _count_claims(counter: Counter, truth: Truth, curves: DrawnCurves) -> None:
    for claim in boundary_claims(truth):
        p_false, p_true = judge(claim_quantity(curves, claim), claim, curves.confidence)
        counter.add(f"{claim.id}: supported at the boundary", p_false <= 0.05)
        counter.add(f"{claim.id}: refuted at the boundary", p_true <= 0.05)
    speed = curves.speed_rpm
    inside = (speed >= TOP[0]) & (speed <= TOP[1])
    largest = float(np.abs(truth.gain()[inside]).max())
    for name, margin in (("", max(largest, 1e-6)), (" at twice the margin", 2.0 * largest)):
        claim = _claim("within", where=TOP, within=margin)
        p_false, p_true = judge(claim_quantity(curves, claim), claim, curves.confidence)
        counter.add(f"within{name}: supported", p_false <= 0.05)
        counter.add(f"within{name}: refuted", p_true <= 0.05)


def _count_family(counter: Counter, truth: Truth, curves: DrawnCurves) -> None:
    """Six claims at the boundary, decided together."""
    gain, speeds = truth.gain(), (2500.0, 3000.0, 3500.0, 5000.0, 5500.0, 6000.0)
    places = [curves.speed_rpm.tolist().index(at) for at in speeds]
    claims = [
        _claim(f"{at:.0f}", where=(at, at), at_least=float(gain[place]))
        for at, place in zip(speeds, places, strict=True)
    ]
    verdicts = {finding.verdict for finding in decide_claims(claims, curves, None, [])}
    counter.add("family of 6: any supported at the boundary", Verdict.SUPPORTED in verdicts)
    counter.add("family of 6: any refuted at the boundary", Verdict.REFUTED in verdicts)


def _count_crossovers(counter: Counter, truth: Truth, found: Difference) -> None:
    true = truth.crossings()
    counter.add("crossovers: more certified than true", len(found.crossovers) > true.size)
    counter.add("crossovers: all certified", len(found.crossovers) == true.size)
    centre = found.torque.mean
    counter.add("crossovers: mean curves cross another number of times", _changes(centre) != true.size)
    for crossing in found.crossovers:
        inside = (true >= crossing.zone_low) & (true <= crossing.zone_high)
        counter.add("crossovers: zone without a true one", not inside.any())
        if true.size == 1:
            counter.add("crossovers: interval holds the true one", crossing.low <= true[0] <= crossing.high)
            counter.widths["crossovers: width of the interval"].append(crossing.high - crossing.low)


def _changes(values: FloatArray) -> int:
    return int(np.count_nonzero(values[:-1] * values[1:] < 0.0))


def _count_windows(counter: Counter, truth: Truth, found: Difference) -> None:
    gain, window = truth.gain(), found.windows[0]
    true = truth.mean(gain, WINDOW)
    power = truth.mean(truth.power(gain), WINDOW)
    share = 100.0 * true / truth.mean(truth.torque("A"), WINDOW)
    assert window.power is not None
    assert window.classical is not None
    counter.add("window torque: held", window.torque.low <= true <= window.torque.high)
    counter.add("window power: held", window.power.low <= power <= window.power.high)
    counter.add("window percent: held", window.percent.low <= share <= window.percent.high)
    counter.add("window classical t: held", window.classical.low <= true <= window.classical.high)
    counter.widths["window torque: half-width"].append((window.torque.high - window.torque.low) / 2)
    counter.widths["window classical t: half-width"].append((window.classical.high - window.classical.low) / 2)
    band = found.torque
    counter.add("band of the gain: held", np.all((band.low <= gain) & (gain <= band.high)))
    share_curve = 100.0 * gain / truth.torque("A")
    share_band = found.percent
    counter.add("band in per cent: held", np.all((share_band.low <= share_curve) & (share_curve <= share_band.high)))


def _count_peaks(counter: Counter, truth: Truth, curves: DrawnCurves, found: Difference) -> None:
    heights = {}
    for name in "AB":
        drawn = build_peaks(curves, name)
        torque = truth.torque(name)
        power = truth.power(torque)
        heights[name] = float(power.max())
        peak = peak_of(curves, name, drawn.power, curves.angular_speed)
        counter.add("peak power: held", peak.low <= heights[name] <= peak.high)
        peak = peak_of(curves, name, drawn.torque)
        at = float(curves.speed_rpm[torque.argmax()])
        counter.add("peak torque: held", peak.low <= torque.max() <= peak.high)
        counter.add("rpm of peak torque: held", peak.rpm_low <= at <= peak.rpm_high)
    assert found.peak_power is not None
    true = heights["B"] - heights["A"]
    counter.add("gain at peak power: held", found.peak_power.low <= true <= found.peak_power.high)


def _count_four(counter: Counter, truth: Truth, comparison: Comparison, curves: DrawnCurves) -> None:
    """What needs four builds: interaction and crossover shift, both truly zero in per cent of the baseline."""
    true = truth.gain("D", "C") - truth.gain("B", "A")
    found = interactions_of(comparison, curves)[-1]
    sign = 1.0 if found.factor == "header" else -1.0
    band = found.torque
    counter.add(
        "interaction: band misses the truth", not np.all((band.low <= sign * true) & (sign * true <= band.high))
    )
    counter.add("interaction: differs", found.differs)
    counter.add("interaction: margin below the true maximum", found.smallest_margin < np.abs(true).max())
    first, second = (difference(comparison, curves, pair, {}, []) for pair in (("B", "A"), ("D", "C")))
    for shift in crossover_shifts(curves, (first, second)):
        places = truth.crossings("D", "C"), truth.crossings("B", "A")
        if all(place.size == 1 for place in places):
            real = float(places[0][0] - places[1][0])
            counter.add("crossover shift: held", shift.shift.low <= real <= shift.shift.high)


def study(scenario: Scenario, sessions: int, seed: int, draws: int = 4000) -> Counter:
    """Run many sessions of one kind and count."""
    counter = Counter()
    for child in np.random.SeedSequence(seed).spawn(sessions):
        session = simulate(
            scenario.order, scenario.noise, np.random.default_rng(child), different=scenario.different,
            own_fitting=scenario.own_fitting, timed=scenario.timed, draws=draws,
        )  # fmt: skip
        session = lifted(session, scenario.lift)
        comparison = with_factors(session.comparison)
        joint = draw_jointly(comparison)
        curves = drawn_curves(joint, "A", comparison.torque_kind, comparison.confidence)
        counter.add("gap in the data, not counted", len(curves.stretches) > 1)
        if len(curves.stretches) > 1:
            continue
        truth = Truth(session, curves)
        peaks = {name: build_peaks(curves, name) for name in curves.cells}
        found = difference(comparison, curves, ("B", "A"), peaks, [])
        _count_claims(counter, truth, curves)
        _count_family(counter, truth, curves)
        _count_crossovers(counter, truth, found)
        _count_windows(counter, truth, found)
        _count_peaks(counter, truth, curves, found)
        if "D" in curves.cells:
            _count_four(counter, truth, comparison, curves)
    return counter
