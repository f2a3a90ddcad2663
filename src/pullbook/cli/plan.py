"""``plan``: which builds in which order, and the odds of an answer."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from pullbook.cli.options import Json, SessionFolder, Units  # noqa: TC001 - typer reads the annotations
from pullbook.quantities.showing import UnitSystem

__all__ = ["plan"]

_METRIC: Final = UnitSystem.METRIC


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
    odds: Annotated[float, typer.Option("--odds", metavar="%", help="Odds of an answer that are wanted.")] = 80.0,
    units: Units = _METRIC,
    json_to: Json = None,
) -> None:
    """Plan a session before a bolt is turned.

    Offers orders of builds and pulls: the cheapest that can answer, the surest in the time, and one in between.
    """
    from pullbook.app.plan_session import PlanWords, plan_session
    from pullbook.cli.watch import Bar

    words = PlanWords(resolve=resolve, within=within, of=of, from_=from_, odds=odds)
    with Bar() as bar:
        planned = plan_session(session, words, bar)
    if json_to is None:
        from pullbook.cli.show_plan import print_plan

        print_plan(planned.plan, units)
    else:
        from pullbook.cli.json_output import write_json
        from pullbook.records.codec_plan import plan_to_json

        write_json(plan_to_json(planned.plan), json_to)
