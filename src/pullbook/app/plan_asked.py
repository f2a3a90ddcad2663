"""What was last asked of the planner in a session: kept in its folder, so that every tab shows the same."""

from __future__ import annotations

import json
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.folder import folder_of, inside
from pullbook.app.whole_file import write_whole
from pullbook.errors import FailureError, PullbookError, UnfinishedError

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

__all__ = ["PlanAsked", "demand_meant", "in_words", "keep_plan_asked", "plan_asked_path", "read_plan_asked"]

_NAME: Final = ".pullbook/plan.json"
_LONGEST: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAsked:
    """What is asked of a plan, as plain data; `pullbook.app.plan_session.PlanWords` has the same words.

    Attributes
    ----------
    resolve : str
        Size to tell; empty for the claims of the session.
    within : str
        Time; empty for one day.
    of, from_ : str
        A pair of builds; empty for every build from the baseline.
    odds : float
        Odds from which on an order counts as able to answer. [%]
    """

    resolve: str = ""
    within: str = ""
    of: str = ""
    from_: str = ""
    odds: float = 80.0

    def plain(self) -> dict[str, Any]:
        """The same for a worker."""
        return asdict(self)

    @property
    def parts(self) -> tuple[str, ...]:
        """Everything of it that a result depends on, for its key."""
        return tuple(f"{name}={value}" for name, value in asdict(self).items())


def plan_asked_path(folder: Path) -> Path:
    """File that holds what was asked.

    Raises
    ------
    FileRefusedError
        If a link leads it out of the folder.
    """
    return inside(folder_of(folder), _NAME)


def read_plan_asked(folder: Path) -> PlanAsked:
    """What was last asked; the usual where nobody asked, or where the file cannot be read any more."""
    with suppress(OSError, ValueError, PullbookError):
        found: Any = json.loads(plan_asked_path(folder).read_bytes())
        if isinstance(found, dict) and all(_fits(name, value) for name, value in found.items()):
            whole: dict[str, Any] = {**found, "odds": float(found.get("odds", PlanAsked().odds))}
            return PlanAsked(**whole)
    return PlanAsked()


def keep_plan_asked(folder: Path, asked: PlanAsked) -> None:
    """Keep what is asked.

    Raises
    ------
    FailureError
        If the folder cannot be written to.
    """
    path = plan_asked_path(folder)
    try:
        path.parent.mkdir(exist_ok=True)
        write_whole(path, json.dumps(asdict(asked)).encode())
    except OSError as error:
        raise FailureError(f"the folder cannot be written to ({error.strerror})", where=_NAME,
                           remedy="check the free space and the permissions") from error  # fmt: skip


def _fits(name: str, value: object) -> bool:
    usual = asdict(PlanAsked()).get(name)
    if isinstance(usual, float):
        return isinstance(value, int | float) and not isinstance(value, bool)
    return isinstance(usual, str) and isinstance(value, str) and len(value) <= _LONGEST


@contextmanager
def in_words() -> Generator[None]:
    """Let messages name what is asked by its words, not by the options of the command line."""
    try:
        yield
    except PullbookError as error:
        error.where = error.where.removeprefix("--")
        raise


def demand_meant(text: str, asked: PlanAsked) -> None:
    """Refuse what cannot be meant, before any work is done for it.

    Parameters
    ----------
    text : str
        The session file.
    asked : PlanAsked
        What is asked.

    Raises
    ------
    InputError
        If a word is wrong, or the session cannot be planned as it stands.
    """
    from pullbook.app.plan_question import plan_request
    from pullbook.capture.session_file import parse_session
    from pullbook.plan.targets import found_span, plan_targets
    from pullbook.plan.terms import stated_costs
    from pullbook.quantities.toml_lines import lines_named

    with in_words(), lines_named(text, "session.toml"):
        session = parse_session(text, tested=False)
        request = plan_request(
            session, resolve=asked.resolve, within=asked.within, pair=(asked.of, asked.from_),
            day=stated_costs(session)[0].day, odds=asked.odds,
        )  # fmt: skip
        if session.pulls:
            return  # pulls that were made may say how large the torque is
        try:
            plan_targets(session, request.resolve, found_span(session, request.resolve).rpm)
        except UnfinishedError as error:
            error.where = "resolve" if asked.resolve else error.where
            raise
