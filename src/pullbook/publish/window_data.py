"""`window_data`: what a page carries so that a reader may choose any window and see its numbers at once.

The script `window-tables.js` reads it; its numbers print the same digits as ``pullbook compare --window``.
"""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.publish.figures import Measure
from pullbook.publish.window_codes import coded_curve, decoded
from pullbook.publish.window_halves import Quantity, halves_of, shared_checks
from pullbook.quantities.showing import UnitSystem
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.publish.window_codes import Codes
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.result import SessionResult
    from pullbook.records.window_table import WindowStretch, WindowTable

__all__ = ["SCHEMA", "window_data", "window_data_with_all"]

SCHEMA: Final = "pullbook.windows/2"
_CURVE_FINENESS: Final = 1e-4  # of the smallest half-width, or of the curve where there is none
_BASE_FINENESS: Final = 1e-6  # of the torque


def window_data(result: SessionResult) -> bytes:
    """Mean gains of each pair over every window, as JSON.

    Parameters
    ----------
    result : SessionResult
        With `windows_any`.

    Returns
    -------
    bytes
        UTF-8; empty where the result has no tables. An object with

        - ``schema``, ``confidence``, ``relative``;
        - ``measures``: for "torque", "power" and "percent" by unit system the symbol and size of the unit, as in
          ``["hp", 745.7]``; the sizes are those of the SI unit;
        - ``start``: the first window of the findings, which a page shows until the reader chooses one [rpm];
        - ``stretches``: runs of speeds without a gap, each with ``grid`` = [first, step, number] of the curves,
          ``ends``, the speeds at which a window may begin and end [rpm], and ``check`` as [unit, letters], the
          half-widths of the checks of the first pair; absent where there are none;
        - ``pairs``: ``about`` ("B-A"), ``of``, ``from`` and for each stretch

          - ``gain``, ``base``, ``check``: curves as [unit, letters]: mean torque gain and the torque that it is a gain
            on, on the grid, and at the ends the integral of the gain of the pulls as they are;
          - ``halves``: for "torque", "percent" and "power" the half-widths as [unit, letters], those of the power
            divided by that of the torque times the sum of the two ends; for "check" what those of the first pair are
            multiplied by. Null where no doubt can be stated; a quantity that the session does not have is absent;
          - ``odd``: for the same names windows whose digits cannot be had from the letters, as [number of the window,
            estimate, half-width].

    Notes
    -----
    How the letters are read says `pullbook.publish.window_codes`. The mean of the gain over a window is the integral
    of the straight lines between the speeds of the grid, over its width; that of the power is the same of the gain
    times angular speed; the share is the mean gain over the mean of the base.
    """
    if not result.windows_any:
        return b""
    findings = result.findings
    relative = findings.torque_kind is TorqueKind.RELATIVE
    systems = {str(system): system for system in UnitSystem}
    torque = partial(Measure.torque, relative=relative)
    measures = {
        "torque": {key: _unit(torque(system)) for key, system in systems.items()},
        "power": {key: _unit(Measure.power(system)) for key, system in systems.items()},
        "percent": {key: _unit(Measure.percent()) for key in systems},
    }
    factors = {name: sorted({unit[1] for unit in units.values()}) for name, units in measures.items()}
    first = findings.differences[0].windows
    data = {
        "schema": SCHEMA,
        "confidence": findings.confidence,
        "relative": relative,
        "measures": measures,
        "start": [first[0].from_rpm, first[0].to_rpm] if first else None,
        **_tables(result.windows_any, factors),
    }
    return _text(data)


def window_data_with_all(result: SessionResult) -> bytes:
    """Mean torque gains with every pull kept, of each pair that a left-out pull touches over every window, as JSON.

    Parameters
    ----------
    result : SessionResult
        With `windows_with_all`.

    Returns
    -------
    bytes
        UTF-8; empty where no pull was left out. As `window_data`, with ``stretches`` and ``pairs`` alone: a stretch
        has ``ends`` alone, and a pair has ``torque`` instead of the curves, at the ends the integral of the gain.
    """
    tables = result.windows_with_all
    if not tables:
        return b""
    relative = result.findings.torque_kind is TorqueKind.RELATIVE
    factors = sorted({Measure.torque(system, relative=relative).factor for system in UnitSystem})
    return _text(
        {
            "stretches": [{"ends": _ends(one)} for one in tables[0].stretches],
            "pairs": [
                _named(table) | {"stretches": [_torque_alone(one, factors) for one in table.stretches]}
                for table in tables
            ],
        }
    )


def _text(data: dict[str, Any]) -> bytes:
    return json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=False).encode()


def _unit(measure: Measure) -> tuple[str, float]:
    return measure.symbol, measure.factor


def _grid(stretch: WindowStretch) -> tuple[float, float, int]:
    speed = stretch.speed_rpm
    step = float(speed[1] - speed[0]) if speed.size > 1 else 1.0
    return float(speed[0]), step, int(speed.size)


def _named(table: WindowTable) -> dict[str, Any]:
    return {"about": f"{table.of}-{table.from_}", "of": table.of, "from": table.from_}


def _ends(stretch: WindowStretch) -> list[float]:
    return [round(float(end), 6) for end in stretch.ends_rpm]


def _tables(tables: Sequence[WindowTable], factors: dict[str, list[float]]) -> dict[str, Any]:
    """Stretches and pairs."""
    stretches: list[dict[str, Any]] = []
    pairs: list[dict[str, Any]] = [_named(one) | {"stretches": []} for one in tables]
    for number, first in enumerate(tables[0].stretches):
        where: dict[str, Any] = {"grid": _grid(first), "ends": _ends(first)}
        told, checks = zip(*(_stretch(table.stretches[number], factors) for table in tables), strict=True)
        if first.check.size:
            codes, spread = shared_checks(checks, first.ends_rpm.size)
            where["check"] = list(codes) if codes else None
            for part, (factor, odd) in zip(told, spread, strict=True):
                part["halves"]["check"] = factor
                part["odd"] |= odd
        stretches.append(where)
        for pair, part in zip(pairs, told, strict=True):
            pair["stretches"].append(part)
    return {"stretches": stretches, "pairs": pairs}


def _stretch(stretch: WindowStretch, factors: dict[str, list[float]]) -> tuple[dict[str, Any], Quantity]:
    """What one pair tells, and its check, which is told together with those of the others."""
    gain = coded_curve(stretch.gain, _fineness(stretch.torque, stretch.gain))
    base = coded_curve(stretch.base, _power_of_ten(_BASE_FINENESS * float(np.abs(stretch.base).max())))
    told: dict[str, Any] = {"gain": list(gain), "base": list(base)}
    quantities = _quantities(stretch, gain, base, factors)
    told["halves"], told["odd"] = halves_of(quantities, stretch.ends_rpm)
    seen = stretch.check
    if seen.size:
        codes = _to_ends(stretch.ends_rpm, stretch.check, stretch.check_half)
        told["check"], seen = list(codes), _between(stretch.ends_rpm, decoded(codes))
    return told, Quantity(stretch.check, seen, stretch.check_half, factors["torque"])


def _torque_alone(stretch: WindowStretch, factors: list[float]) -> dict[str, Any]:
    ends = stretch.ends_rpm
    values = _mean_of(stretch)(stretch.gain)
    codes = _to_ends(ends, values, stretch.torque)
    quantity = Quantity(values, _between(ends, decoded(codes)), stretch.torque, factors)
    halves, odd = halves_of({"torque": quantity}, ends)
    return {"torque": list(codes), "halves": halves, "odd": odd}


def _quantities(
    stretch: WindowStretch, gain: Codes, base: Codes, factors: dict[str, list[float]]
) -> dict[str, Quantity]:
    speed, mean = stretch.speed_rpm, _mean_of(stretch)
    exact = _worked_out(mean, speed, stretch.gain, stretch.base)
    seen = _worked_out(mean, speed, decoded(gain), decoded(base))
    parts = {"torque": stretch.torque, "power": stretch.power, "percent": stretch.percent}
    return {
        name: Quantity(exact[name], seen[name], halves, factors[name]) for name, halves in parts.items() if halves.size
    }


def _mean_of(stretch: WindowStretch) -> Callable[[FloatArray], FloatArray]:
    """What makes means over all windows out of a curve."""
    speed, ends = stretch.speed_rpm, stretch.ends_rpm
    return partial(_means, ends=ends, at=np.searchsorted(speed, ends), step=float(speed[1] - speed[0]))


def _worked_out(
    mean: Callable[[FloatArray], FloatArray], speed: FloatArray, gain: FloatArray, base: FloatArray
) -> dict[str, FloatArray]:
    """Mean gains over all windows from two curves, as the script works them out."""
    torque = mean(gain)
    return {
        "torque": torque,
        "power": mean(gain * speed * (np.pi / 30.0)),
        "percent": 100.0 * torque / mean(base),
    }


def _means(values: FloatArray, *, ends: FloatArray, at: np.ndarray[Any, Any], step: float) -> FloatArray:
    to_here = np.concatenate(([0.0], np.cumsum(0.5 * step * (values[1:] + values[:-1]))))[at]
    return _between(ends, to_here)


def _to_ends(ends: FloatArray, means: FloatArray, halves: FloatArray) -> Codes:
    """Integral up to each end, from the means over the windows that begin at the first."""
    to_ends = np.concatenate(([0.0], means[: ends.size - 1] * (ends[1:] - ends[0])))
    return coded_curve(to_ends, _fineness(halves, means) * float(np.diff(ends).min()))


def _between(ends: FloatArray, to_ends: FloatArray) -> FloatArray:
    """Means over all windows from the integrals up to their ends."""
    low, high = np.triu_indices(ends.size, 1)
    found: FloatArray = (to_ends[high] - to_ends[low]) / (ends[high] - ends[low])
    return found


def _fineness(halves: FloatArray, values: FloatArray) -> float:
    known = halves[np.isfinite(halves) & (halves > 0.0)]
    size = float(known.min()) if known.size else float(np.abs(values).max()) or 1.0
    return _power_of_ten(_CURVE_FINENESS * size)


def _power_of_ten(value: float) -> float:
    return float(f"1e{int(np.floor(np.log10(value)))}")
