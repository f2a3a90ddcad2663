"""What the archive keeps of a session for pooling: its effects as plain data, and back."""

from __future__ import annotations

import base64
import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np

import pullbook
from pullbook.app.compare_builds import comparison_of
from pullbook.app.session_content import dimensions_of
from pullbook.compare.evidence import evidence_of
from pullbook.records.codec_numbers import number, numbers
from pullbook.records.json_text import compact_json

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.archived import ArchivedDimension
    from pullbook.records.evidence import EffectCurve, Evidence
    from pullbook.records.result import SessionResult

__all__ = ["EVIDENCE", "evidence_json", "modes_of", "session_evidence"]

EVIDENCE: Final = "pullbook.evidence/1"
_HALF: Final = np.dtype("<f2")  # three digits of a doubt are enough


def session_evidence(result: SessionResult) -> tuple[bytes, bytes]:
    """What the archive keeps of a session beside its findings.

    Parameters
    ----------
    result : SessionResult
        What the session showed.

    Returns
    -------
    scatter : bytes
        What it says of the sources of scatter; empty where it says nothing.
    evidence : bytes
        Its effects, in the form ``pullbook.evidence/1``.
    """
    evidence = evidence_of(comparison_of(result))
    return evidence.scatter, compact_json(evidence_json(evidence, result))


def evidence_json(evidence: Evidence, result: SessionResult) -> dict[str, Any]:
    """Evidence as plain data.

    Parameters
    ----------
    evidence : Evidence
        The effects.
    result : SessionResult
        The session that they are of.
    """
    session, itself = result.session, evidence.itself
    dimensions = dimensions_of(session)
    return {
        "schema": EVIDENCE,
        "program": pullbook.__version__,
        "dyno": str(session.dyno),
        "standard": str(session.standard),
        "torque_kind": str(result.findings.torque_kind),
        "baseline": session.baseline.name,
        "displacement": number(session.engine.displacement),
        "peak_rpm": number(evidence.peak_rpm),
        "peak_power": number(evidence.peak_power),
        "windows": [list(window) for window in comparison_of(result).windows],
        "grid_rpm": numbers(evidence.grid_rpm),
        "effects": [_effect(one, result, dimensions) for one in evidence.effects],
        "itself": None if itself is None else {
            "held": itself.held, "windows_held": itself.windows_held, "windows": itself.windows,
            "worst": number(itself.worst),
        },
    }  # fmt: skip


def _effect(one: EffectCurve, result: SessionResult, dimensions: list[ArchivedDimension]) -> dict[str, Any]:
    return {
        "factor": one.factor,
        "from": _level(one, one.from_level, result, dimensions),
        "to": _level(one, one.to_level, result, dimensions),
        "builds": list(one.builds),
        "band_factor": _short(one.band_factor),
        "gain": _shortened(one.gain),
        "base": _shortened(one.base),
        "sd": _shortened(one.sd),
        "modes": base64.b64encode(one.modes.astype(_HALF).tobytes()).decode(),
    }


def _level(one: EffectCurve, level: str, result: SessionResult, dimensions: list[ArchivedDimension]) -> dict[str, Any]:
    """A level by its words, parts and dimensions."""
    session = result.session
    if not one.factor:
        build = next(build for build in session.builds if build.name == level)
        return {"level": level, "words": [build.name, build.label], "dimensions": []}
    here = [part.name for part in session.parts if (part.factor, part.level) == (one.factor, level)]
    own = [
        {"name": kept["name"], "part": kept["part"], "kind": kept["kind"], "value": kept["value"],
         "written": kept["written"]}
        for kept in dimensions if (kept["factor"], kept["level"]) == (one.factor, level)
    ]  # fmt: skip
    return {"level": level, "words": [level, *here], "dimensions": own}


def _shortened(values: FloatArray) -> list[float | None]:
    """Five digits of the largest value, far finer than any doubt."""
    largest = float(np.nanmax(np.abs(values)))
    places = 4 - math.floor(math.log10(largest)) if largest > 0.0 else 0
    return [round(value, places) + 0.0 if math.isfinite(value) else None for value in values.tolist()]


def _short(value: float) -> float | None:
    """Five digits, far finer than any doubt; none for NaN."""
    return float(f"{value:.5g}") if np.isfinite(value) else None


def modes_of(effect: Mapping[str, Any]) -> FloatArray:
    """Curves whose products make the covariance of an effect, (r, g).

    Parameters
    ----------
    effect : mapping
        An effect of ``pullbook.evidence/1``.
    """
    flat = np.frombuffer(base64.b64decode(effect["modes"]), dtype=_HALF).astype(np.float64)
    return flat.reshape(-1, len(effect["gain"]))
