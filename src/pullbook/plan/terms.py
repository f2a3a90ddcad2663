"""What was stated about the bench, with what stands in for the rest; every stand-in is told."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.quantities.phrases import counted
from pullbook.records.plan_terms import Costs, ScatterBelief
from pullbook.records.taught import NOTHING_TAUGHT, Taught

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.records.session import Session

__all__ = ["believed_scatter", "stated_costs"]

_PULL: Final = 6.0 * 60.0
_CHANGE: Final = 40.0 * 60.0
_DAY: Final = 8.0 * 3600.0
_FIELDS: Final = {"length": "length_rpm"}  # sources that have another name in a belief
_T_SPREAD: Final = math.sqrt(5.0 / 3.0)  # standard deviation of Student's t of five degrees of freedom
_NAMED: Final = {"pull": "a pull", "shape": "its shape", "refit": "a re-fitting", "walk": "wandering in an hour",
                 "drift": "drift in an hour"}  # fmt: skip


def stated_costs(session: Session) -> tuple[Costs, tuple[str, ...]]:
    """Costs of a session, and one sentence for everything that nobody stated.

    Parameters
    ----------
    session : Session
        What was declared. [s]

    Returns
    -------
    costs : Costs
        [s]
    assumed : tuple of str
        Sentences.
    """
    plan = session.plan
    unstated = [factor.name for factor in session.factors if factor.change is None]
    assumed: list[str] = []
    if plan.pull is None:
        assumed.append("A pull takes 6 minutes ([plan] pull).")
    if unstated:
        assumed.append(f"A change of {' or of '.join(unstated)} takes 40 minutes ([[factor]] change).")
    if not session.factors:
        assumed.append("A change of build takes 40 minutes ([[factor]] change).")
    if plan.warm_up is None and plan.cool_down is None:
        assumed.append("Warming up and cooling down are part of a change ([plan] warm_up, cool_down).")
    costs = Costs(
        pull=_PULL if plan.pull is None else plan.pull,
        warm_up=plan.warm_up or 0.0,
        cool_down=plan.cool_down or 0.0,
        together=plan.together or 0.0,
        day=_DAY if plan.day is None else plan.day,
        change={factor.name: _CHANGE if factor.change is None else factor.change for factor in session.factors},
        any_change=_CHANGE,
    )
    return costs, tuple(assumed)


def believed_scatter(session: Session, taught: Taught = NOTHING_TAUGHT) -> ScatterBelief:
    """Scatter that the odds rest on: what the session states, else what earlier ones taught, else what is usual.

    Parameters
    ----------
    session : Session
        What was declared. [%]
    taught : Taught
        What earlier sessions of the bench say. [log %]

    Returns
    -------
    ScatterBelief
        With a sentence that says where it comes from. [%]
    """
    usual = ScatterBelief(source="")
    stated = dict(session.plan.scatter)
    learnt = {_FIELDS.get(name, name): one for name, one in taught.beliefs.items()}
    middles = {name: math.exp(location) for name, (location, _) in learnt.items()}
    sizes: dict[str, float] = {name: getattr(usual, name) for name in _NAMED} | middles | stated
    spreads = {name: _T_SPREAD * scale for name, (_, scale) in learnt.items() if name not in stated}
    return replace(usual, **sizes, spreads=spreads, source=_source(sizes, stated, taught))


def _source(sizes: Mapping[str, float], stated: Mapping[str, float], taught: Taught) -> str:
    listed = ", ".join(f"{sizes[name]:.2g} % {words}" for name, words in _NAMED.items())
    rest = (
        f"learnt from {counted(taught.sessions, 'earlier session')}, each give or take what these differ by"
        if taught.beliefs
        else "usual values that nobody measured on this bench"
    )
    parts = [f"stated for {', '.join(_NAMED[name] for name in stated)}"] if stated else []
    parts += [rest] if len(stated) < len(_NAMED) else []
    return f"Scatter: {listed} ({'; '.join(parts)}){'' if taught.beliefs else ', each give or take a third'}."
