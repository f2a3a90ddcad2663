"""What was stated about the bench, with what stands in for the rest; every stand-in is told."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.records.plan_terms import Costs, ScatterBelief

if TYPE_CHECKING:
    from pullbook.records.session import Session

__all__ = ["believed_scatter", "stated_costs"]

_PULL: Final = 6.0 * 60.0
_CHANGE: Final = 40.0 * 60.0
_DAY: Final = 8.0 * 3600.0
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


def believed_scatter(session: Session) -> ScatterBelief:
    """Scatter that the odds rest on: what the session states, else what is usual.

    Parameters
    ----------
    session : Session
        What was declared. [%]

    Returns
    -------
    ScatterBelief
        With a sentence that says where it comes from. [%]
    """
    usual = ScatterBelief(source="")
    stated = dict(session.plan.scatter)
    sizes = {name: stated.get(name, getattr(usual, name)) for name in _NAMED}
    listed = ", ".join(f"{sizes[name]:.2g} % {words}" for name, words in _NAMED.items())
    said = f"stated for {', '.join(_NAMED[name] for name in stated)}" if stated else ""
    rest = "" if len(stated) == len(_NAMED) else "usual values that nobody measured on this bench"
    where = "; ".join(part for part in (said, rest) if part)
    return replace(usual, **sizes, source=f"Scatter: {listed} ({where}), each give or take a third.")
