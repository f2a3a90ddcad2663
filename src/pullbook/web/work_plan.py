"""The kinds of long work about planning: offers before the first pull, and a look on the way.

The module is imported by the server as well, so everything heavy is imported inside.
"""

from __future__ import annotations

from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.plan_asked import PlanAsked, in_words
from pullbook.app.plan_content import look_key, looked_at, plan_basis
from pullbook.errors import FailureError
from pullbook.quantities.showing import UnitSystem
from pullbook.records.json_text import compact_json, json_text
from pullbook.web.cache import Cache
from pullbook.web.jobs_kind import Kind

if TYPE_CHECKING:
    from collections.abc import Generator, Mapping

    from pullbook.app.learn_history import Teacher
    from pullbook.app.ports import Progress

__all__ = ["LOOK", "ORDERS", "PLAN", "PLAN_KINDS", "look", "make_offers", "sheet_name", "shown_name"]

PLAN: Final = "plan.json"
LOOK: Final = "next.json"
ORDERS: Final = "orders.json"


def shown_name(units: str) -> str:
    """Name of what the page shows."""
    return f"shown-{units}.json"


def sheet_name(number: int, units: str) -> str:
    """Name of the run sheet of an offer, from 1."""
    return f"sheet-{number}-{units}.html"


def make_offers(
    progress: Progress, *, folder: str, basis: str, asked: Mapping[str, Any], archive: str
) -> dict[str, bytes]:
    """Plan a session; ``plan.json`` is what ``pullbook plan --json`` writes, and every offer has its run sheet.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    basis : str
        What the plan rests on.
    asked : mapping
        What is asked, as `PlanAsked.plain` gives it.
    archive : str
        Where the archive is.
    """
    from pullbook.app.plan_session import PlanWords, plan_session
    from pullbook.app.write_plan import planned_entries
    from pullbook.capture.session_draft import read_draft
    from pullbook.publish.run_sheet import render_run_sheet
    from pullbook.records.codec_plan import plan_to_json
    from pullbook.web.plan_shown import plan_shown

    what = PlanAsked(**asked)
    with in_words(), _teacher(what, archive) as teacher:
        planned = plan_session(Path(folder), PlanWords(**what.words), progress, teacher=teacher)
    if plan_basis(Path(folder), read_draft(planned.text).values) != basis:
        raise _changed("plan again")
    plan = planned.plan
    orders = {offer.name: planned_entries(offer) for offer in plan.offers}
    files = {
        PLAN: json_text(plan_to_json(plan)).encode(),
        ORDERS: compact_json({
            name: [{"build": one.build, "file": one.file, "remark": one.remark} for one in entries]
            for name, entries in orders.items()
        }),
    }  # fmt: skip
    for system in UnitSystem:
        files[shown_name(system)] = compact_json(plan_shown(plan, system))
        for number, offer in enumerate(plan.offers, start=1):
            names = [one.file for one in orders[offer.name]]
            sheet = render_run_sheet(planned.session, plan, offer, names, system=system)
            files[sheet_name(number, system)] = sheet.encode()
    return files


def look(
    progress: Progress, *, folder: str, cache: str, build: str, asked: Mapping[str, Any], archive: str
) -> dict[str, bytes]:
    """Look at a session that is under way; ``next.json`` is what ``pullbook plan --next --json`` writes.

    The look is written into ``session.toml``, so that what was seen is kept under the name of the session as it stands
    then.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    cache : str
        Folder of the results.
    build : str
        Build of pullbook that the names of the server are for.
    asked : mapping
        What is asked, as `PlanAsked.plain` gives it.
    archive : str
        Where the archive is.
    """
    from pullbook.app.next_pull import next_pull
    from pullbook.app.plan_session import PlanWords
    from pullbook.records.codec_outlook import outlook_to_json
    from pullbook.web.plan_shown import outlook_shown

    root = Path(folder)
    before = looked_at(root)
    what = PlanAsked(**asked)
    with in_words(), _teacher(what, archive) as teacher:
        outlook = next_pull(root, PlanWords(**what.words), progress, teacher=teacher)
    key = look_key(root, what, build)
    if looked_at(root) != before:
        raise _changed("look again")
    files = {LOOK: json_text(outlook_to_json(outlook)).encode()}
    files |= {shown_name(system): compact_json(outlook_shown(outlook, system)) for system in UnitSystem}
    try:
        Cache(Path(cache)).put(key, files)
    except OSError as error:
        raise FailureError(
            f"what was seen cannot be kept ({error.strerror})", where="the cache of pullbook",
            remedy="make room on the disk and look again; this costs nothing more as long as no pull is added",
        ) from error  # fmt: skip
    return files


@contextmanager
def _teacher(asked: PlanAsked, archive: str) -> Generator[Teacher | None]:
    """Who teaches the scatter of the bench; None where the archive is not asked."""
    if not asked.archive:
        yield None
        return
    from pullbook.app.learn_history import from_archive
    from pullbook.wiring import archive_at

    with closing(archive_at(archive)) as there:
        yield from_archive(there)


def _changed(remedy: str) -> FailureError:
    return FailureError("files of the session changed meanwhile", remedy=f"{remedy} when no program writes into it")


PLAN_KINDS: Final[dict[str, Kind]] = {
    "plan": Kind(run=make_offers, urgent=False),
    "next": Kind(run=look, urgent=False),
}
"""Kinds of work about planning by the name that a `Task` gives."""
