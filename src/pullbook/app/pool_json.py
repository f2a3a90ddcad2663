"""A pool and the honesty of the bench as JSON, in the form ``pullbook.pool/1``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pullbook
from pullbook.records.codec_numbers import interval, number, numbers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.app.honest_bands import Honesty
    from pullbook.records.pool import Pool, PoolCurve, PoolRow, PoolWindow

__all__ = ["POOL", "honest_json", "pool_json"]

POOL: Final = "pullbook.pool/1"


def pool_json(pool: Pool, says: Sequence[str]) -> dict[str, Any]:
    """Pool as plain data.

    Parameters
    ----------
    pool : Pool
        The sessions together. [%, N m]
    says : sequence of str
        What is told of them.
    """
    return {
        "schema": POOL,
        "program": {"name": "pullbook", "version": pullbook.__version__},
        "change": pool.change,
        "standard": pool.standard,
        "dyno": pool.dyno,
        "says": list(says),
        "sessions": [_row(row) for row in pool.rows],
        "windows": [_window(window, pool) for window in pool.windows],
        "curves": [_curve(curve, pool) for curve in pool.curves],
        "moderators": [
            {"property": line.property_, "unit": line.unit, "step": line.step, "slope_percent": interval(line.slope),
             "explained": number(line.explained)}
            for line in pool.lines
        ],
    }  # fmt: skip


def _row(row: PoolRow) -> dict[str, Any]:
    return {
        "session": row.session, "revision": row.revision, "date": row.day or None, "title": row.title,
        "engine": row.engine, "folder": row.folder, "from": row.from_, "to": row.to, "builds": list(row.builds),
        "displacement_m3": number(row.displacement), "peak_power_kW": number(row.peak_power, 1000.0),
        "recomputed_from": row.recomputed_from or None,
    }  # fmt: skip


def _window(window: PoolWindow, pool: Pool) -> dict[str, Any]:
    ends = window.next_engine
    return {
        "from_rpm": number(window.from_rpm), "to_rpm": number(window.to_rpm), "unit": window.unit,
        "sessions": [
            {"session": pool.rows[row].session, "effect": number(effect), "sd": number(sd), "weight": number(weight)}
            for row, effect, sd, weight in zip(window.rows, window.effect, window.sd, window.weight, strict=True)
        ],
        "mean": interval(window.mean),
        "next_engine": None if ends is None else {"low": number(ends[0]), "high": number(ends[1])},
        "next_engine_approximate": window.approximate,
        "between_sd": number(window.between_sd), "i_squared": number(window.i_squared), "q_p": number(window.q_p),
        "heterogeneity": window.heterogeneity,
        "without": [
            {"session": pool.rows[row].session, "mean": interval(one)}
            for row, one in zip(window.rows, window.without, strict=False)
        ],
    }  # fmt: skip


def _curve(curve: PoolCurve, pool: Pool) -> dict[str, Any]:
    return {
        "axis": "rpm" if curve.axis == "rpm" else "share of the speed of the torque peak",
        "unit": "%", "x": numbers(curve.x), "sessions": [int(count) for count in curve.sessions.tolist()],
        "mean": numbers(curve.mean), "low": numbers(curve.low), "high": numbers(curve.high),
        "next_low": numbers(curve.next_low), "next_high": numbers(curve.next_high),
        "of": [pool.rows[row].session for row in curve.rows],
    }  # fmt: skip


def honest_json(honesty: Honesty, says: Sequence[str]) -> dict[str, Any]:
    """Honesty of the bands as plain data.

    Parameters
    ----------
    honesty : Honesty
        How often they held.
    says : sequence of str
        What is told of it.
    """
    return {
        "schema": POOL,
        "program": {"name": "pullbook", "version": pullbook.__version__},
        "says": list(says),
        "expected": 0.95,
        "sessions": honesty.sessions, "held": honesty.held,
        "low": number(honesty.low), "high": number(honesty.high),
        "windows": honesty.windows, "windows_held": honesty.windows_held,
        "without": honesty.without,
        "outside": [
            {"session": one.session, "title": one.title, "folder": one.folder, "times_the_band": number(one.worst)}
            for one in honesty.outside
        ],
    }  # fmt: skip
