"""``plan``: which builds in which order, and the odds of an answer."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path  # noqa: TC003 - typer reads the annotations
from typing import TYPE_CHECKING, Annotated, Final

import typer

from pullbook.cli.options import (
    ArchiveTaught,
    HistoryFile,
    Json,
    SessionFolder,
    Units,
    teacher_of,
)
from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.learn_history import Teacher
    from pullbook.app.plan_session import PlanWords

__all__ = ["plan"]

_METRIC: Final = UnitSystem.METRIC
_ODDS: Final = 80.0


def plan(
    session: SessionFolder,
    resolve: Annotated[
        str,
        typer.Option(
            "--resolve", metavar="SIZE", help="Difference to tell, as '6 N m over 2500..3500 rpm' or '1.5 %'."
        ),
    ] = "",
    within: Annotated[
        str, typer.Option("--within", metavar="TIME", help="Time there is, as '1 day' or '6 h'; else one day.")
    ] = "",
    of: Annotated[str, typer.Option("--of", metavar="BUILD", help="Build that --resolve is about.")] = "",
    from_: Annotated[str, typer.Option("--from", metavar="BUILD", help="Build it is compared with.")] = "",
    odds: Annotated[float, typer.Option("--odds", metavar="%", help="Odds of an answer that are wanted.")] = _ODDS,
    rehearse: Annotated[
        bool,
        typer.Option("--rehearse", help="Simulate 200 sessions of each offer and put them through the comparison."),
    ] = False,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FOLDER", help="Write an offer as a session folder with a run sheet."),
    ] = None,
    offer: Annotated[
        str, typer.Option("--offer", metavar="NAME", help="Offer to write: cheapest, in between or surest.")
    ] = "",
    next_: Annotated[
        bool,
        typer.Option(
            "--next", help="In the middle of a session: what is open, and what decides it soonest. The look is kept."
        ),
    ] = False,
    archive: ArchiveTaught = None,
    history: HistoryFile = None,
    units: Units = _METRIC,
    json_to: Json = None,
) -> None:
    """Plan a session before a bolt is turned.

    Offers orders of builds and pulls: the cheapest that can answer, the surest in the time, and one in between.
    """
    from pullbook.app.plan_session import PlanWords, plan_session
    from pullbook.app.write_plan import chosen_offer, demand_free, write_plan
    from pullbook.cli.watch import Bar

    words = PlanWords(resolve=resolve, within=within, of=of, from_=from_, odds=odds)
    for_offers = {"--within": bool(within), "--odds": odds != _ODDS, "--rehearse": rehearse,
                  "--write": write is not None, "--offer": bool(offer)}  # fmt: skip
    if next_:
        _demand_none(for_offers)
        with teacher_of(archive, history) as teacher:
            _next(session, words, teacher, units, json_to)
        return
    if offer and write is None:
        raise InputError("an offer is chosen to be written", where="--offer", value=offer, remedy="add --write FOLDER")
    if write is not None:
        demand_free(write)
    with teacher_of(archive, history) as teacher, Bar() as bar:
        planned = plan_session(session, words, bar, teacher=teacher)
        if rehearse:
            from pullbook.app.rehearse_plan import Rehearsal, rehearse_plan

            planned = replace(planned, plan=rehearse_plan(planned.plan, planned.session, Rehearsal(), bar))
    if json_to is None:
        from pullbook.cli.show_plan import print_plan

        print_plan(planned.plan, units)
    else:
        from pullbook.cli.json_output import write_json
        from pullbook.records.codec_plan import plan_to_json

        write_json(plan_to_json(planned.plan), json_to)
    if write is not None:
        for path in write_plan(planned, chosen_offer(planned.plan, offer), session, write, units):
            print(path, file=sys.stderr if json_to == "-" else sys.stdout)


def _demand_none(given: Mapping[str, bool]) -> None:
    """Refuse what would do nothing: a look on the way makes no offers, and its time and pulls are those of the plan."""
    idle = next((option for option, said in given.items() if said), "")
    if idle:
        raise InputError("this does nothing with --next", where=idle, remedy="leave it out")


def _next(session: Path, words: PlanWords, teacher: Teacher | None, units: UnitSystem, json_to: str | None) -> None:
    from pullbook.app.next_pull import next_pull
    from pullbook.cli.watch import Bar

    with Bar() as bar:
        outlook = next_pull(session, words, bar, teacher=teacher)
    if json_to is None:
        from pullbook.cli.show_next import print_next

        print_next(outlook, units)
    else:
        from pullbook.cli.json_output import write_json
        from pullbook.records.codec_outlook import outlook_to_json

        write_json(outlook_to_json(outlook), json_to)
