"""What was last asked of the planner in a session: kept in its folder, so that every tab shows the same."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.last_asked import keep_asked, last_asked, last_asked_path
from pullbook.errors import PullbookError, UnfinishedError

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

__all__ = ["PlanAsked", "demand_meant", "in_words", "keep_plan_asked", "plan_asked_path", "read_plan_asked"]

_NAME: Final = ".pullbook/plan.json"
_LONGEST: Final = 200
_CERTAIN: Final = 100.0  # %


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAsked:
    """What is asked of a plan, as plain data.

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
    archive : str
        Name of the archive as it was when its sessions were asked to teach the scatter; empty where they were not.
    """

    resolve: str = ""
    within: str = ""
    of: str = ""
    from_: str = ""
    odds: float = 80.0
    archive: str = ""

    def plain(self) -> dict[str, Any]:
        """The same for a worker."""
        return asdict(self)

    @property
    def words(self) -> dict[str, Any]:
        """What `pullbook.app.plan_session.PlanWords` has of it."""
        return {name: value for name, value in asdict(self).items() if name != "archive"}

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
    return last_asked_path(folder, _NAME)


def read_plan_asked(folder: Path) -> PlanAsked:
    """What was last asked; the usual where nobody asked, or where the file cannot be read any more."""
    found = last_asked(folder, _NAME)
    if found is None or not all(_fits(name, value) for name, value in found.items()):
        return PlanAsked()
    whole: dict[str, Any] = {**found, "odds": float(found.get("odds", PlanAsked().odds))}
    return PlanAsked(**whole)


def keep_plan_asked(folder: Path, asked: PlanAsked) -> None:
    """Keep what is asked.

    Raises
    ------
    FailureError
        If the folder cannot be written to.
    """
    keep_asked(folder, _NAME, asked.plain())


def _fits(name: str, value: object) -> bool:
    usual = asdict(PlanAsked()).get(name)
    if isinstance(usual, float):
        return isinstance(value, int | float) and not isinstance(value, bool) and 0.0 <= value <= _CERTAIN
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
