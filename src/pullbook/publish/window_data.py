"""`window_data`: what a page carries so that a reader may choose any window and see its numbers at once.

The script `window-tables.js` reads it; its numbers print the same digits as ``pullbook compare --window``.
"""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from pullbook.publish.figures import Measure
from pullbook.publish.window_codes import coded_curve, coded_halves, decoded, print_alike
from pullbook.quantities.showing import UnitSystem
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.publish.window_codes import Codes
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.result import SessionResult
    from pullbook.records.window_table import WindowStretch, WindowTable

__all__ = ["SCHEMA", "window_data"]

SCHEMA: Final = "pullbook.windows/1"
_CURVE_FINENESS: Final = 1e-4  # of the smallest half-width, or of the curve where there is none
_BASE_FINENESS: Final = 1e-6  # of the torque


class _Quantity(NamedTuple):
    """One number of every window: exact, as the reader works it out, and its doubt."""

    values: FloatArray
    seen: FloatArray
    halves: FloatArray
    factors: list[float]


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
        - ``stretches``: runs of speeds without a gap, each with ``grid`` = [first, step, number] of the curves and
          ``ends``, the speeds at which a window may begin and end [rpm];
        - ``pairs``: ``about`` ("B-A"), ``of``, ``from`` and for each stretch

          - ``gain``, ``base``, ``check``: curves as [unit, letters]: mean torque gain and the torque that it is a gain
            on, on the grid, and at the ends the integral of the gain of the pulls as they are;
          - ``halves``: for "torque", "power", "percent" and "check" the half-widths as [unit, letters], or null where
            no doubt can be stated; a quantity that the session does not have is absent;
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
    whole = result.windows_any[0].stretches
    data = {
        "schema": SCHEMA,
        "confidence": findings.confidence,
        "relative": relative,
        "measures": measures,
        "start": [first[0].from_rpm, first[0].to_rpm] if first else None,
        "stretches": [{"grid": _grid(one), "ends": [round(float(end), 6) for end in one.ends_rpm]} for one in whole],
        "pairs": [_pair(table, factors) for table in result.windows_any],
    }
    return json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=False).encode()


def _unit(measure: Measure) -> tuple[str, float]:
    return measure.symbol, measure.factor


def _grid(stretch: WindowStretch) -> tuple[float, float, int]:
    speed = stretch.speed_rpm
    step = float(speed[1] - speed[0]) if speed.size > 1 else 1.0
    return float(speed[0]), step, int(speed.size)


def _pair(table: WindowTable, factors: dict[str, list[float]]) -> dict[str, Any]:
    return {
        "about": f"{table.of}-{table.from_}",
        "of": table.of,
        "from": table.from_,
        "stretches": [_stretch(one, factors) for one in table.stretches],
    }


def _stretch(stretch: WindowStretch, factors: dict[str, list[float]]) -> dict[str, Any]:
    gain = coded_curve(stretch.gain, _fineness(stretch.torque, stretch.gain))
    base = coded_curve(stretch.base, _power_of_ten(_BASE_FINENESS * float(np.abs(stretch.base).max())))
    curves = {"gain": gain, "base": base}
    if stretch.check.size:
        curves["check"] = _check(stretch)
    found: dict[str, Any] = {name: list(codes) for name, codes in curves.items()}
    halves: dict[str, Any] = {}
    odd: dict[str, list[tuple[int, float, float | None]]] = {}
    for name, quantity in _quantities(stretch, curves, factors).items():
        halves[name], places = _halves(quantity, stretch.ends_rpm.size)
        if places.size:
            odd[name] = [(int(at), float(quantity.values[at]), _known(float(quantity.halves[at]))) for at in places]
    return {**found, "halves": halves, "odd": odd}


def _halves(quantity: _Quantity, ends: int) -> tuple[list[Any] | None, np.ndarray[Any, Any]]:
    """Letters of the half-widths, and the windows for which estimate or half-width would print other digits."""
    alike = print_alike(quantity.values, quantity.seen, quantity.halves, quantity.factors)
    if quantity.halves.size == 0 or not np.isfinite(quantity.halves).all() or quantity.halves.min() <= 0.0:
        return None, np.flatnonzero(~alike)
    codes, odd = coded_halves(quantity.halves, quantity.values, quantity.factors, ends)
    return list(codes), np.flatnonzero(~alike | odd)


def _quantities(
    stretch: WindowStretch, curves: dict[str, Codes], factors: dict[str, list[float]]
) -> dict[str, _Quantity]:
    speed, ends = stretch.speed_rpm, stretch.ends_rpm
    mean = partial(_means, ends=ends, at=np.searchsorted(speed, ends), step=float(speed[1] - speed[0]))
    exact = _worked_out(mean, speed, stretch.gain, stretch.base)
    seen = _worked_out(mean, speed, decoded(curves["gain"]), decoded(curves["base"]))
    parts = {"torque": stretch.torque, "power": stretch.power, "percent": stretch.percent}
    found = {
        name: _Quantity(exact[name], seen[name], halves, factors[name]) for name, halves in parts.items() if halves.size
    }
    if "check" in curves:
        low, high = np.triu_indices(ends.size, 1)
        to_ends = decoded(curves["check"])
        shown = (to_ends[high] - to_ends[low]) / (ends[high] - ends[low])
        found["check"] = _Quantity(stretch.check, shown, stretch.check_half, factors["torque"])
    return found


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
    low, high = np.triu_indices(ends.size, 1)
    found: FloatArray = (to_here[high] - to_here[low]) / (ends[high] - ends[low])
    return found


def _check(stretch: WindowStretch) -> Codes:
    """Integral of the gain of the pulls up to each end, from the means over the windows that begin at the first."""
    ends = stretch.ends_rpm
    to_ends = np.concatenate(([0.0], stretch.check[: ends.size - 1] * (ends[1:] - ends[0])))
    least = float(np.diff(ends).min())
    return coded_curve(to_ends, _fineness(stretch.check_half, stretch.check) * least)


def _fineness(halves: FloatArray, values: FloatArray) -> float:
    known = halves[np.isfinite(halves) & (halves > 0.0)]
    size = float(known.min()) if known.size else float(np.abs(values).max()) or 1.0
    return _power_of_ten(_CURVE_FINENESS * size)


def _power_of_ten(value: float) -> float:
    return float(f"1e{int(np.floor(np.log10(value)))}")


def _known(half: float) -> float | None:
    return half if np.isfinite(half) else None
