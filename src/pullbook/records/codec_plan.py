"""A plan as JSON, in the form ``pullbook.plan/1``.

The published schema is ``docs/plan.schema.json``; a test holds it to this code. Times in minutes, sizes in per cent of
torque and in the unit that stands beside them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pullbook
from pullbook.records.codec_numbers import WRITTEN_UNITS, number

if TYPE_CHECKING:
    from pullbook.records.codec_numbers import JsonObject
    from pullbook.records.plan import Offer, Plan, Target
    from pullbook.records.plan_terms import ScatterBelief

__all__ = ["PLAN_SCHEMA", "plan_to_json"]

PLAN_SCHEMA: Final = "pullbook.plan/1"


def plan_to_json(plan: Plan) -> JsonObject:
    """What ``pullbook plan --json`` writes.

    Parameters
    ----------
    plan : Plan
        The offers. [s, %]

    Returns
    -------
    dict
        Only dicts, lists, strings, booleans, numbers and None. Times in minutes.
    """
    return {
        "schema": PLAN_SCHEMA,
        "program": {"name": "pullbook", "version": pullbook.__version__},
        "session": plan.title,
        "within_minutes": number(plan.within / 60.0),
        "aim": number(plan.aim),
        "targets": [_target(target) for target in plan.targets],
        "offers": [_offer(plan, offer) for offer in plan.offers],
        "unanswered": [
            {
                "target": one.target,
                "smallest": number(one.smallest * _unit(plan, one.target)[1]),
                "unit": _unit(plan, one.target)[0],
                "minutes": None if one.seconds is None else number(one.seconds / 60.0),
                "searched_minutes": number(one.searched / 60.0),
            }
            for one in plan.unanswered
        ],
        "not_estimable": list(plan.not_estimable),
        "scatter": _scatter(plan.belief),
        "assumptions": list(plan.assumptions),
    }


def _unit(plan: Plan, target: str) -> tuple[str, float]:
    return WRITTEN_UNITS[next(one.unit for one in plan.targets if one.name == target)]


def _target(target: Target) -> JsonObject:
    unit, factor = WRITTEN_UNITS[target.unit]
    return {
        "name": target.name,
        "says": target.says,
        "ask": str(target.ask),
        "contrast": {name: number(weight) for name, weight in target.contrast},
        "from_rpm": None if target.window is None else number(target.window[0]),
        "to_rpm": None if target.window is None else number(target.window[1]),
        "percent": number(target.percent),
        "size": number(target.size * factor),
        "unit": unit,
    }


def _offer(plan: Plan, offer: Offer) -> JsonObject:
    return {
        "name": offer.name,
        "minutes": number(offer.seconds / 60.0),
        "pulls": offer.pulls,
        "odds": number(offer.odds),
        "steps": [
            {
                "fitting": step.fitting,
                "build": step.build,
                "pulls": step.pulls,
                "changed": list(step.changed),
                "start_minutes": number(step.start / 60.0),
            }
            for step in offer.steps
        ],
        "targets": [
            {
                "target": one.target,
                "wanted": place < offer.wanted,
                "odds": number(one.odds),
                "detectable_percent": number(one.detectable),
                "detectable": number(one.detectable_size * _unit(plan, one.target)[1]),
                "unit": _unit(plan, one.target)[0],
                "floor_percent": number(one.floor),
                "rehearsed": number(offer.rehearsed[place]) if place < len(offer.rehearsed) else None,
            }
            for place, one in enumerate(offer.targets)
        ],
        "rehearsed_sessions": offer.sessions,
        "confounded": list(offer.confounded),
    }


def _scatter(belief: ScatterBelief) -> JsonObject:
    return {
        "pull_percent": number(belief.pull),
        "shape_percent": number(belief.shape),
        "refit_percent": number(belief.refit),
        "refit_shape_ratio": number(belief.refit_shape),
        "walk_percent": number(belief.walk),
        "drift_percent_per_hour": number(belief.drift),
        "white_percent": number(belief.white),
        "length_rpm": number(belief.length_rpm),
        "spread": number(belief.spread),
        "spreads": {name: number(one) for name, one in belief.spreads.items()},
        "source": belief.source,
    }
