"""write: an offer of a plan -> a session folder that is ready to run: run sheet and ``session.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.app.folder import folder_of, read_bytes, write_folder
from pullbook.app.stored_name import safe_name
from pullbook.capture.session_planned import PlannedEntry, planned_text
from pullbook.errors import InputError
from pullbook.publish.run_sheet import render_run_sheet

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.app.plan_session import Planned
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.plan import Offer, Plan

__all__ = ["chosen_offer", "demand_free", "planned_entries", "write_plan"]

_SHEET = "run-sheet.html"
_SESSION = "session.toml"
_ENGINE = "engine.toml"


def chosen_offer(plan: Plan, name: str, where: str = "--offer") -> Offer:
    """Offer by its name, or the first one.

    Parameters
    ----------
    plan : Plan
        The offers.
    name : str
        "cheapest", "in between" or "surest"; empty for the first.
    where : str
        Option or field, for the message.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    if not name:
        return plan.offers[0]
    for offer in plan.offers:
        if name.strip().casefold() in {offer.name, *offer.name.split(" and ")}:
            return offer
    names = ", ".join(f"'{offer.name}'" for offer in plan.offers)
    raise InputError("this plan has no such offer", where=where, value=name, remedy=f"choose one of {names}")


def demand_free(goal: Path) -> None:
    """Refuse a folder in which a plan cannot be written, before the work is done for it.

    Parameters
    ----------
    goal : Path
        The folder to write.

    Raises
    ------
    InputError
        If a file is in the way.
    """
    for name in (_SHEET, _SESSION):
        if (goal / name).exists():
            raise InputError(
                "a file is in the way", where=str(goal / name),
                remedy="choose another folder; a plan never replaces a session",
            )  # fmt: skip


def write_plan(planned: Planned, offer: Offer, source: Path, goal: Path, system: UnitSystem) -> tuple[Path, ...]:
    """Write an offer as a session folder: all of it, or nothing.

    Parameters
    ----------
    planned : Planned
        The plan and its session.
    offer : Offer
        The order that will be run.
    source : Path
        The session folder that was planned; an ``engine.toml`` in it is taken along.
    goal : Path
        The folder to write.
    system : UnitSystem
        Units of the sheet.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    InputError
        If a file is in the way.
    FailureError
        If the disk is full or the folder cannot be written to; it is as it was.
    """
    demand_free(goal)
    entries = planned_entries(offer)
    sheet = render_run_sheet(planned.session, planned.plan, offer, [one.file for one in entries], system=system)
    files = [(_SHEET, sheet.encode()), (_SESSION, planned_text(planned.text, entries).encode())]
    engine = folder_of(source) / _ENGINE
    if engine.is_file():
        files.append((_ENGINE, bytes(read_bytes(engine, _ENGINE))))
    return tuple(write_folder(goal, files, replace=False))


def planned_entries(offer: Offer) -> list[PlannedEntry]:
    """Lines of the run order that an offer comes to: one for each pull, the first of a fitting with a remark.

    Parameters
    ----------
    offer : Offer
        The order.
    """
    entries: list[PlannedEntry] = []
    for step in offer.steps:
        changed = f"change {', '.join(step.changed)}" if step.changed else "as the engine stands"
        for number in range(step.pulls):
            stem = safe_name(f"{len(entries) + 1:02d}-{step.build}.csv")
            remark = f"Fitting {step.fitting}: {step.build}, {changed}" if number == 0 else ""
            entries.append(PlannedEntry(build=step.build, file=f"pulls/{stem}", remark=remark))
    return entries
