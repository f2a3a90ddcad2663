"""What the page says of computed curves: how they lie to what was measured, and how far they can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.publish.engine_curves import computed_gain
from pullbook.publish.speeds import rpm, rpm_range
from pullbook.quantities.phrases import counted, listed
from pullbook.quantities.rounding import digits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.publish.engine_curves import EngineRun, Trace
    from pullbook.publish.figures import Measure

__all__ = ["engine_sentences", "small_share", "trust_sentences"]

_KNOCK: Final = 1.0  # share of the time to self-ignition from which knock is likely
_MINDED: Final = 1e-5  # share of mass or energy below which nobody minds
_FEWEST: Final = 2  # speeds that a mean is taken over


def engine_sentences(runs: Sequence[EngineRun], measure: Measure) -> tuple[str, ...]:
    """How the computed curves lie to the measured ones, and to each other.

    Parameters
    ----------
    runs : sequence of EngineRun
        As in the chart.
    measure : Measure
        Unit of torque of the reader.

    Returns
    -------
    tuple of str
        One sentence for each curve that was measured too, and one for each pair.
    """
    beside = [sentence for run in runs if (sentence := _beside(run))]
    pairs = [_pair(run, runs[0], measure) for run in runs[1:]]
    return (*beside, *(sentence for sentence in pairs if sentence))


def _beside(run: EngineRun) -> str:
    if run.measured is None:
        return ""
    at = run.computed.speed_rpm
    share = 100.0 * (run.computed.torque / run.measured.at(at) - 1.0)
    known = np.isfinite(share)
    if known.sum() < _FEWEST:
        return ""
    share, at = share[known], at[known]
    low, high = int(np.argmin(share)), int(np.argmax(share))
    mean = float(share.mean())
    side = "above" if mean >= 0.0 else "below"
    return (
        f"{_named(run)}: the computed torque is {digits(abs(mean), 1)} % {side} the measured mean on average over "
        f"{rpm_range(float(at[0]), float(at[-1]))}, from {digits(float(share[low]), 1, signed=True)} % at "
        f"{rpm(float(at[low]))} to {digits(float(share[high]), 1, signed=True)} % at {rpm(float(at[high]))}."
    )


def _named(run: EngineRun) -> str:
    return f"{run.name} ({run.label})" if run.label else run.name


def _pair(run: EngineRun, first: EngineRun, measure: Measure) -> str:
    gain = computed_gain(run, first)
    if gain is None:
        return f"{run.name} and {first.name} have no computed speed in common."
    shown = measure.shown(gain.torque)
    low, high = int(np.argmin(shown)), int(np.argmax(shown))
    least, most = (
        f"{digits(float(shown[place]), 1, signed=True)} {measure.symbol} at {rpm(float(gain.speed_rpm[place]))}"
        for place in (low, high)
    )
    return f"{run.name} minus {first.name}, computed: from {least} to {most}{_agreement(gain, run.gain)}."


def _agreement(gain: Trace, measured: Trace | None) -> str:
    """At how many speeds with a decided measured sign the computed difference has the same."""
    if measured is None:
        return ""
    at = gain.speed_rpm
    low, high = (np.interp(at, measured.speed_rpm, end, left=np.nan, right=np.nan)
                 for end in (measured.low, measured.high))  # fmt: skip
    decided = (low > 0.0) | (high < 0.0)
    if not decided.any():
        return "; what was measured decides no sign at these speeds"
    same = int((decided & (np.sign(gain.torque) == np.sign(low + high))).sum())
    all_ = int(decided.sum())
    agreed = "all of them" if same == all_ else "none of them" if same == 0 else f"{same} of them"
    return f"; the pulls decide the sign at {counted(all_, 'speed')}, and the computed sign is the same at {agreed}"


def trust_sentences(engines: Sequence[Mapping[str, Any]], measure: Measure) -> tuple[str, ...]:
    """How far the record of a run says that its numbers can be trusted.

    Parameters
    ----------
    engines : sequence of mapping
        Each as ``simulation.json`` has it.
    measure : Measure
        Unit of torque of the reader.

    Returns
    -------
    tuple of str
        Cells, what the balances leave unexplained, what has not settled, knock, speeds that went wrong, remarks.
    """
    points = [point for engine in engines for point in engine["points"]]
    if not points:
        return tuple(failure for engine in engines for failure in engine["failures"])
    qualities = [point["quality"] for point in points]
    mass, energy = (small_share(max(abs(one[key]) for one in qualities)) for key in ("mass_error", "energy_error"))
    balance = f"The balance of the gas over a last cycle leaves unexplained, at worst: mass {mass}, energy {energy}."
    told = [_cells(engines, measure), balance]
    for engine in engines:
        name = engine["name"] or "Engine"
        knocking = [rpm(p["speed_rpm"]) for p in engine["points"] if _knocks(p)]
        if knocking:
            told.append(
                f"{name}: knock is expected at {listed(knocking)} with this spark and fuel. The spark would have to be "
                "later there, and the torque is not to be trusted."
            )
        told += [f"{name}, {rpm(p['speed_rpm'])}: not settled, {p['quality']['reason']}."
                 for p in engine["points"] if not p["quality"]["converged"]]  # fmt: skip
        told += [f"{name}: {sentence.rstrip('.')}." for sentence in (*engine["failures"], *engine["remarks"])]
    return tuple(told)


def small_share(share: float) -> str:
    """A share in per cent, to one digit; smaller ones than anybody minds are not counted.

    Parameters
    ----------
    share : float
        The share. [1]

    Returns
    -------
    str
        As in "0.02 %".

    Examples
    --------
    >>> small_share(2.3e-4), small_share(1e-15)
    ('0.02 %', 'less than 0.001 %')
    """
    return f"{100.0 * share:.1g} %" if share >= _MINDED else "less than 0.001 %"


def _cells(engines: Sequence[Mapping[str, Any]], measure: Measure) -> str:
    """Size of the cells, and what it adds."""
    size = next(1e3 * point["quality"]["cell_size"] for engine in engines for point in engine["points"])
    errors = [abs(error) / measure.factor for engine in engines for error in engine["grid_error"] if error is not None]
    if not errors:
        return "The error from the size of the cells was not estimated."
    return (
        f"Cells of {size:.0f} mm add up to {digits(max(errors), 1)} {measure.symbol} to the torque, by estimate from a "
        "second run on coarser ones: that is the band of a computed curve, not what the model itself is wrong by."
    )


def _knocks(point: Mapping[str, Any]) -> bool:
    return any(one["knock_integral"] >= _KNOCK for one in point["cylinders"])
