"""`render_run_sheet`: the plan of a session to print and to fill in beside the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.publish.method import CAUTIONS
from pullbook.publish.plan_words import detectable_text, order_text, share, target_sentence
from pullbook.publish.scripts import resource
from pullbook.publish.sections import environment
from pullbook.publish.styles import theme_rules
from pullbook.quantities.channels import Channel
from pullbook.quantities.phrases import counted, hours_and_minutes
from pullbook.quantities.showing import UnitSystem, show_range, shown_symbol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.build import Build
    from pullbook.records.plan import Offer, Plan, Step
    from pullbook.records.session import Session

__all__ = ["SheetFitting", "render_run_sheet"]

_COLUMNS: Final = (
    Channel.AIR_TEMPERATURE, Channel.AIR_PRESSURE, Channel.AIR_HUMIDITY, Channel.OIL_TEMPERATURE,
    Channel.COOLANT_TEMPERATURE,
)  # fmt: skip
_HELD: Final = (
    "Start every pull from the same oil and coolant temperature, within 3 °C (5 °F).",
    "Same gear, same speeds, same sweep rate, same pause between pulls.",
    "Same fuel from the same can, same spark and fuel table; note any change.",
    "Same doors, fans and ducts; zero the torque cell at the same moment of every fitting.",
    "Write times and weather as they are, at the engine inlet, not from a weather service.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFitting:
    """One fitting on the sheet.

    Attributes
    ----------
    number : int
        Of the fitting, from 1. [1]
    build : str
        Its build.
    todo : str
        What has to be changed before it.
    clock : str
        When its first pull is due, from the start.
    pulls : tuple of (int, str)
        Number and file of each pull.
    """

    number: int
    build: str
    todo: str
    clock: str
    pulls: tuple[tuple[int, str], ...]


def render_run_sheet(
    session: Session, plan: Plan, offer: Offer, files: Sequence[str], *, system: UnitSystem = UnitSystem.METRIC
) -> str:
    """Run sheet of an offer as one HTML page without scripts, made to be printed.

    Parameters
    ----------
    session : Session
        Builds, limits and claims.
    plan : Plan
        Targets, costs and what they rest on. [s, %]
    offer : Offer
        The order. [s]
    files : sequence of str
        Where the file of each pull is to go, in run order.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        The page. All text of the user is escaped, and a content security policy forbids every request.
    """
    limits = tuple(
        f"{_label(limit.channel)}: {show_range(limit.low, limit.high, limit.channel, system)}"
        for limit in session.limits
    )
    targets = tuple(
        (target_sentence(target, system), share(one.odds), detectable_text(one, target, system))
        for target, one in zip(plan.targets[: offer.wanted], offer.targets, strict=False)
    )
    return (
        environment()
        .get_template("run_sheet.html.j2")
        .render(
            session=session,
            offer=offer,
            length=hours_and_minutes(offer.seconds),
            pulls=counted(offer.pulls, "pull"),
            order=order_text(offer),
            odds=share(offer.odds),
            targets=targets,
            held=(*limits, *_HELD),
            warm_up=_warm_up(plan),
            parts=_parts(session),
            fittings=_fittings(session, plan, offer, files),
            columns=tuple(f"{_label(channel)}, {shown_symbol(channel, system)}" for channel in _COLUMNS),
            confounded=offer.confounded,
            assumptions=plan.assumptions,
            cautions=CAUTIONS,
            version=_version(),
            style=theme_rules() + resource("static", "tokens.css") + resource("static", "run-sheet.css"),
        )
    )


def _label(channel: Channel) -> str:
    words = str(channel).replace("_", " ")
    return f"{words[0].upper()}{words[1:]}"


def _warm_up(plan: Plan) -> str:
    time = plan.costs.warm_up
    rule = (
        "After every change warm up until oil and coolant stand where they stood before the first pull; a pull "
        "that starts outside is made again and its line struck out, not rubbed out."
    )
    return f"{rule} {hours_and_minutes(time)} are planned for it." if time else rule


def _parts(session: Session) -> tuple[tuple[Build, tuple[tuple[str, str], ...]], ...]:
    return tuple(
        (build, tuple(build.levels.items()) or (("build", build.label or build.name),)) for build in session.builds
    )


def _fittings(session: Session, plan: Plan, offer: Offer, files: Sequence[str]) -> tuple[SheetFitting, ...]:
    found: list[SheetFitting] = []
    number = 0
    for step in offer.steps:
        each = tuple((number + n + 1, files[number + n]) for n in range(step.pulls))
        number += step.pulls
        found.append(
            SheetFitting(
                number=step.fitting, build=step.build, todo=_todo(session, plan, step),
                clock=hours_and_minutes(step.start), pulls=each,
            )
        )  # fmt: skip
    return tuple(found)


def _todo(session: Session, plan: Plan, step: Step) -> str:
    build = next(one for one in session.builds if one.name == step.build)
    if not step.changed:
        return "as the engine stands at the start"
    if step.changed == ("build",):
        return f"change to {build.label or build.name} ({hours_and_minutes(plan.costs.any_change)})"
    return ", ".join(
        f"{name} to {build.levels[name]} ({hours_and_minutes(plan.costs.change[name])})" for name in step.changed
    )


def _version() -> str:
    from pullbook import __version__

    return __version__
