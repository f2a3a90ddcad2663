"""findings.json: everything that a session showed, in the form ``pullbook.findings/1``.

The published schema is ``docs/findings.schema.json``; a test holds it to this code. Units do not depend on what the
reader is shown: torque in N m (per cent of the baseline in a relative session), power in kW, speed in rpm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pullbook
from pullbook.records.codec_curves import build_json, difference_json, effect_json, interaction_json, units_of
from pullbook.records.codec_numbers import interval, number, numbers
from pullbook.records.codec_provenance import provenance_json

if TYPE_CHECKING:
    from pullbook.records.check import Check
    from pullbook.records.codec_numbers import JsonObject
    from pullbook.records.declaration import Claim
    from pullbook.records.finding import Findings
    from pullbook.records.result import SessionResult
    from pullbook.records.scatter import Repeatability
    from pullbook.records.session import Session
    from pullbook.records.verdict import ClaimFinding

__all__ = ["SCHEMA", "findings_to_json"]

SCHEMA: Final = "pullbook.findings/1"


def findings_to_json(result: SessionResult) -> JsonObject:
    """What ``pullbook compare --json`` and ``pullbook publish`` write.

    Parameters
    ----------
    result : SessionResult
        A session with its pulls, checks and findings.

    Returns
    -------
    dict
        Only dicts, lists, strings, booleans, numbers and None; the same result gives the same text on every machine.
        NaN becomes None, and floats are rounded to 10 significant digits.

    Notes
    -----
    Torque in N m, power in kW, speed in rpm, gains in per cent where the key says so.
    """
    findings = result.findings
    return {
        "schema": SCHEMA,
        "program": {"name": "pullbook", "version": pullbook.__version__},
        "session": _session(result.session),
        "confidence": number(findings.confidence),
        "standard": str(result.session.standard),
        "torque_kind": str(findings.torque_kind),
        "baseline": findings.baseline,
        "has_bands": findings.has_bands,
        "seed": str(findings.seed),  # 64 bits are more than some readers of JSON keep of a number
        "resolution_rpm": number(findings.resolution_rpm),
        "grid_rpm": numbers(findings.grid_rpm),
        "reference_torque": {
            "unit": "N m" if units_of(findings).has_power else "signal", "mean": numbers(findings.reference_torque),
        },
        "repeatability": _repeatability(findings.repeatability),
        **_sections(result, findings),
        "checks": [_check(check) for check in result.checks],
        "refusals": [{"what": refusal.what, "why": refusal.why} for refusal in findings.refusals],
        "assumptions": list(findings.assumptions),
        "findings_with_all": _reduced(result.session, result.findings_with_all),
        "provenance": provenance_json(result),
    }  # fmt: skip


def _sections(result: SessionResult, findings: Findings) -> JsonObject:
    session, units = result.session, units_of(findings)
    declared = {build.name: build for build in session.builds}
    return {
        "builds": [build_json(build, declared.get(build.name), units) for build in findings.builds],
        "differences": [difference_json(difference, units) for difference in findings.differences],
        "effects": [effect_json(effect, findings.interactions, units) for effect in findings.effects],
        "interactions": [interaction_json(interaction, units) for interaction in findings.interactions],
        "crossover_shifts": [
            {
                "first": {"of": shift.first[0], "from": shift.first[1]},
                "second": {"of": shift.second[0], "from": shift.second[1]},
                "shift_rpm": interval(shift.shift),
            } for shift in findings.crossover_shifts
        ],
        "claims": [_claim(claim, session) for claim in findings.claims],
        "bad_pulls": [
            {
                "pull": bad.pull, "build": bad.build, "p": number(bad.p),
                "from_rpm": number(bad.from_rpm), "to_rpm": number(bad.to_rpm),
            } for bad in findings.bad_pulls
        ],
        "detectable": [
            {
                "of": seen.of, "from": seen.from_, "from_rpm": number(seen.from_rpm), "to_rpm": number(seen.to_rpm),
                "percent": number(seen.percent),
            } for seen in findings.detectable
        ],
    }  # fmt: skip


def _session(session: Session) -> JsonObject:
    return {
        "title": session.title,
        "question": session.question,
        "notes": session.notes,
        "date": session.date.isoformat() if session.date else None,
        "dyno": str(session.dyno),
        "engine": session.engine.name,
        "inertia_kg_m2": number(session.inertia),
        "factors": [{"name": factor.name, "levels": list(factor.levels)} for factor in session.factors],
    }


def _repeatability(scatter: Repeatability | None) -> JsonObject | None:
    if scatter is None:
        return None
    return {
        "sd_percent": number(scatter.sd.value),
        "sd_percent_low": number(scatter.sd.low),
        "sd_percent_high": number(scatter.sd.high),
        "sd_percent_curve": numbers(scatter.sd_curve),
        "r_percent": number(scatter.r),
        "refit_sd_percent": interval(scatter.refit_sd),
        "refit_assumed": scatter.refit_assumed,
        "drift_percent_per_hour": interval(scatter.drift_per_hour),
        "from_archive": scatter.from_archive,
        "self_check_ratio": number(scatter.self_check_ratio),
    }


def _claim(finding: ClaimFinding, session: Session) -> JsonObject:
    declared = next((claim for claim in session.claims if claim.id == finding.id), None)
    scale, unit = (1000.0, "kW") if finding.unit == "W" else (1.0, finding.unit)
    return {
        "id": finding.id,
        "says": declared.says if declared else "",
        **_asked(declared),
        "verdict": str(finding.verdict),
        "estimate": number(finding.estimate, scale),
        "low": number(finding.low, scale),
        "high": number(finding.high, scale),
        "unit": unit,
        "p_false": number(finding.p_false),
        "p_true": number(finding.p_true),
        "why": finding.why,
        "needs": finding.needs,
    }


def _asked(claim: Claim | None) -> JsonObject:
    """What the claim is about, in the words of session.toml; nothing where the session does not have it."""
    if claim is None:
        return {}
    scale = 100.0 if claim.in_percent else 1.0
    watts = 1000.0 if claim.quantity == "power" and not claim.in_percent else 1.0
    return {
        "of": claim.of,
        "from": claim.from_,
        "same_as": None if claim.same_as is None else {"of": claim.same_as[0], "from": claim.same_as[1]},
        "quantity": str(claim.quantity),
        "from_rpm": None if claim.where is None else number(claim.where[0]),
        "to_rpm": None if claim.where is None else number(claim.where[1]),
        "limit_unit": "%" if claim.in_percent else ("kW" if claim.quantity == "power" else "N m"),
        "at_least": _limit(claim.at_least, scale, watts),
        "at_most": _limit(claim.at_most, scale, watts),
        "within": _limit(claim.within, scale, watts),
    }


def _limit(value: float | None, times: float, over: float) -> float | None:
    return None if value is None else number(value * times, over)


def _check(check: Check) -> JsonObject:
    return {
        "pull": check.pull,
        "check": check.check,
        "level": str(check.level),
        "says": check.says,
        "remedy": check.remedy,
        "could_explain_percent": number(check.could_explain),
        "rpm_low": number(check.rpm_low),
        "rpm_high": number(check.rpm_high),
    }


def _reduced(session: Session, findings: Findings | None) -> JsonObject | None:
    """What the findings would be with the left-out pulls, without crossovers, effects and the like."""
    if findings is None:
        return None
    units = units_of(findings)
    return {
        "grid_rpm": numbers(findings.grid_rpm),
        "repeatability": _repeatability(findings.repeatability),
        "builds": [{"name": build.name, "pulls": build.pulls, "fittings": build.fittings} for build in findings.builds],
        "differences": [difference_json(difference, units) for difference in findings.differences],
        "claims": [_claim(claim, session) for claim in findings.claims],
    }
