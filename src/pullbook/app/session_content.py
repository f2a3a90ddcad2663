"""What of a session the archive is given: its words, numbers and files as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pullbook
from pullbook.quantities.free_quantity import free_quantity
from pullbook.records.codec_numbers import number

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from pullbook.records.archived import (
        ArchivedClaim,
        ArchivedDimension,
        ArchivedFile,
        ArchivedGain,
        ArchivedPull,
        ArchivedSession,
    )
    from pullbook.records.curve import Interval
    from pullbook.records.result import PullStatus, SessionResult
    from pullbook.records.session import Session

__all__ = ["SCHEMA", "content_of", "dimensions_of", "with_findings", "with_pulls"]

SCHEMA: Final = "pullbook.archive/1"
_WATTS: Final = 1000.0


def content_of(session: Session, *, folder: str, files: Mapping[str, tuple[str, int]]) -> ArchivedSession:
    """What was declared, before anything was compared.

    Parameters
    ----------
    session : Session
        As declared.
    folder : str
        Where it is.
    files : mapping of str to (str, int)
        Hash and length of every file. [byte]
    """
    engine = session.engine
    kept: list[ArchivedFile] = [{"name": name, "sha256": sha, "bytes": size} for name, (sha, size) in files.items()]
    return {
        "schema": SCHEMA,
        "program": pullbook.__version__,
        "title": session.title,
        "question": session.question,
        "notes": session.notes,
        "date": session.date.isoformat() if session.date else None,
        "dyno": str(session.dyno),
        "bench": session.bench,
        "standard": str(session.standard),
        "torque_kind": "",
        "baseline": session.baseline.name,
        "headline": "",
        "folder": folder,
        "engine": {
            "name": engine.name, "displacement": engine.displacement, "induction": str(engine.induction),
            "ignition": str(engine.ignition), "strokes": engine.strokes,
        },
        "factors": [{"name": factor.name, "levels": list(factor.levels)} for factor in session.factors],
        "builds": [
            {"name": build.name, "label": build.label, "baseline": build.baseline, "levels": dict(build.levels)}
            for build in session.builds
        ],
        "parts": [{"name": part.name, "factor": part.factor, "level": part.level} for part in session.parts],
        "dimensions": dimensions_of(session),
        "pulls": [],
        "claims": [],
        "gains": [],
        "files": kept,
    }  # fmt: skip


def dimensions_of(session: Session) -> list[ArchivedDimension]:
    """Numbers with units of a session.

    Parameters
    ----------
    session : Session
        As declared.
    """
    return list(_dimensions(session))


def _dimensions(session: Session) -> Iterator[ArchivedDimension]:
    """Numbers with units: of the engine, of parts, and of levels that are one."""
    if session.engine.displacement is not None:
        yield {
            "part": "", "factor": "", "level": "", "name": "displacement", "kind": "volume",
            "value": session.engine.displacement, "written": f"{session.engine.displacement * 1e6:.4g} cm3",
        }  # fmt: skip
    for part in session.parts:
        for name, one in part.dimensions.items():
            yield {
                "part": part.name, "factor": part.factor, "level": part.level, "name": name, "kind": one.kind,
                "value": one.value, "written": one.written,
            }  # fmt: skip
    for factor in session.factors:
        for level in factor.levels:
            found = free_quantity(level)
            if found is not None:
                yield {
                    "part": "", "factor": factor.name, "level": level, "name": factor.name,
                    "kind": str(found.unit.dimension), "value": found.value, "written": level,
                }  # fmt: skip


def with_pulls(content: ArchivedSession, pulls: Sequence[PullStatus]) -> ArchivedSession:
    """The same with what became of each pull.

    Parameters
    ----------
    content : ArchivedSession
        What was declared.
    pulls : sequence of PullStatus
        In run order.
    """
    return {**content, "pulls": list(_pulls(pulls))}


def with_findings(content: ArchivedSession, result: SessionResult) -> ArchivedSession:
    """The same with what the comparison showed.

    Parameters
    ----------
    content : ArchivedSession
        What was declared.
    result : SessionResult
        What it showed.
    """
    from pullbook.publish.headline import headlines
    from pullbook.publish.telling import Telling

    return {
        **content,
        "torque_kind": str(result.findings.torque_kind),
        "headline": headlines(Telling(result=result))[0],
        "claims": list(_claims(result)),
        "gains": list(_gains(result)),
    }


def _pulls(pulls: Sequence[PullStatus]) -> Iterator[ArchivedPull]:
    for status in pulls:
        yield {
            "name": status.pull.name, "file": status.pull.source.name, "build": status.build,
            "fitting": status.fitting, "time_s": number(status.time), "used": status.used, "because": status.because,
        }  # fmt: skip


def _claims(result: SessionResult) -> Iterator[ArchivedClaim]:
    declared = {claim.id: claim.says for claim in result.session.claims}
    for claim in result.findings.claims:
        scale, unit = (_WATTS, "kW") if claim.unit == "W" else (1.0, claim.unit)
        yield {
            "id": claim.id, "says": declared.get(claim.id, ""), "verdict": str(claim.verdict),
            "estimate": number(claim.estimate, scale), "low": number(claim.low, scale),
            "high": number(claim.high, scale), "unit": unit,
        }  # fmt: skip


def _gains(result: SessionResult) -> Iterator[ArchivedGain]:
    for difference in result.findings.differences:
        for window in difference.windows:
            yield {
                "of": difference.of, "from": difference.from_, "from_rpm": window.from_rpm, "to_rpm": window.to_rpm,
                "torque": _triple(window.torque), "power": _triple(window.power, _WATTS),
                "percent": _triple(window.percent),
            }  # fmt: skip


def _triple(gain: Interval | None, scale: float = 1.0) -> list[float | None]:
    """Value, low and high of a gain to six digits; none where it was not measured."""
    if gain is None:
        return []
    ends = (number(gain.value, scale), number(gain.low, scale), number(gain.high, scale))
    return [None if one is None else float(f"{one:.6g}") for one in ends]
