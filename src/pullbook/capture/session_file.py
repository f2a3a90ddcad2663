"""``session.toml`` becomes a `Session`, or one sentence about the first thing that is wrong in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_builds import parse_builds, parse_factors
from pullbook.capture.session_file_claims import parse_claims
from pullbook.capture.session_file_engine import SPEED_BOUNDS, parse_columns, parse_engine, parse_limits
from pullbook.capture.session_file_keys import KEYS, STANDARDS, TOP
from pullbook.capture.session_file_parts import parse_parts
from pullbook.capture.session_file_plan import parse_plan
from pullbook.capture.session_file_pulls import RECEIVED, parse_pulls
from pullbook.errors import InputError, SessionFileError, UnfinishedError, Way
from pullbook.quantities.toml_faults import Faults
from pullbook.quantities.toml_table import Bounds, TomlTable
from pullbook.quantities.toml_text import load_toml
from pullbook.quantities.units import Dimension
from pullbook.records.session import Dyno, Session

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.records.build import Build
    from pullbook.records.declaration import PullEntry, Standard

__all__ = ["judge_session", "parse_session"]

_INERTIA: Final = Bounds(of=Dimension.INERTIA, low=1e-6, high=1000.0)


def parse_session(text: str, *, where: str = "session.toml", tested: bool = True) -> Session:
    """Session that the text of a session file declares.

    Every quantity is text with its unit; a bare number is refused where a unit is needed. The first thing that is
    wrong is named by its key path, in which entries count from 1: ``pull[3].air.pressure`` stands in the third
    ``[[pull]]``. The reference of every key is the page "The session file" of the documentation.

    Parameters
    ----------
    text : str
        The whole file.
    where : str
        Name of the file, for the message.
    tested : bool
        Every build needs pulls; a session that is only planned has none yet.

    Returns
    -------
    Session
        What the tester declared, in SI. Files are named, not opened.

    Raises
    ------
    SessionFileError
        If the text is no TOML, a key is unknown, missing or of another type, or the parts contradict each other.
    UnitError
        If a unit is missing, unknown or of another dimension.
    OutOfRangeError
        If a quantity is beyond what is possible, as an inlet pressure of 9.9 kPa.

    Examples
    --------
    >>> session = parse_session('''
    ... [session]
    ... title = "One header"
    ... standard = "SAE J1349"
    ... received = "observed"
    ... [[build]]
    ... name = "A"
    ... baseline = true
    ... [[pull]]
    ... build = "A"
    ... file = "pulls/a1.csv"
    ... ''')
    >>> session.baseline.name, session.pulls[0].file, str(session.standard)
    ('A', 'pulls/a1.csv', 'SAE J1349')
    """
    return _session(text, where, Faults(), tested=tested)


def judge_session(text: str, *, where: str = "session.toml") -> tuple[Session | None, tuple[InputError, ...]]:
    r"""Session that a text declares, or everything that is wrong or missing in it.

    The same reading as `parse_session`, which goes on where that one stops.

    Parameters
    ----------
    text : str
        The whole file.
    where : str
        Name of the file, for the messages.

    Returns
    -------
    tuple of (Session or None, tuple of InputError)
        The session and no errors, or None and errors, of which the first is the one that `parse_session` raises.

    Examples
    --------
    >>> session, errors = judge_session('[session]\ntitle = ""\nstandard = "SAE J1394"')
    >>> [error.where for error in errors]
    ['session.toml: session.title', 'session.toml: session.standard', 'session.toml', 'session.toml']
    """
    faults = Faults(going_on=True)
    try:
        session = _session(text, where, faults, tested=True)
    except InputError as error:  # no TOML: there is nothing to go on with
        return None, (error,)
    return (None, faults.kept) if faults.kept else (session, ())


def _session(text: str, where: str, faults: Faults, *, tested: bool) -> Session:
    top = TomlTable(load_toml(text, where=where), file=where, path="", known=KEYS[TOP], faults=faults)
    table = _session_table(top)
    title = table.text("title", example="Runner length on a 2.2 litre four")
    standard = _standard(table)
    received = table.word("received", RECEIVED) if "received" in table else None
    day = table.day("date")
    rpm = table.span("rpm", Dimension.SPEED, SPEED_BOUNDS) if "rpm" in table else None
    windows = _windows(table, rpm)
    engine = parse_engine(top.table("engine", KEYS["engine"]))
    factors = parse_factors(top)
    parts = parse_parts(top, factors)
    builds = parse_builds(top, factors)
    names = [build.name for build in builds]
    pulls = parse_pulls(top, builds=names, received=received, day=day, needed=tested)
    run = _run(top, names, pulls) if tested else set(names)
    claims = parse_claims(top, builds=names, run=[name for name in names if name in run], rpm=rpm)
    _demand_pulls(top, builds, run)
    return Session(
        title=title,
        question=table.text("question", example="Do short runners pay at the top?", default="", lines=True),
        notes=table.text("notes", example="Oil changed before the session", default="", lines=True),
        date=day,
        dyno=table.word("dyno", {kind.value: kind for kind in Dyno}, default=Dyno.ENGINE),
        bench=table.text("bench", example="cell 2", default=""),
        standard=standard,
        inertia=table.quantity("inertia", Dimension.INERTIA, _INERTIA) if "inertia" in table else None,
        engine=engine,
        factors=factors,
        parts=parts,
        builds=builds,
        pulls=pulls,
        claims=claims,
        windows=windows,
        rpm_range=rpm,
        limits=parse_limits(top.table("limits", KEYS["limits"])),
        columns=parse_columns(top.table("columns", KEYS["columns"])),
        plan=parse_plan(top),
        authors=table.texts("authors", example='["A. Tester"]') if "authors" in table else (),
        licence=table.text("licence", example="CC-BY-4.0", default=""),
        cite=table.text("cite", example="A. Tester: Two headers on a small four, 2026", default=""),
    )


def _run(top: TomlTable, builds: Sequence[str], pulls: Sequence[PullEntry]) -> set[str]:
    """Builds that have pulls; all of them, where the build of a pull is wrong and may be any."""
    doubtful = any(top.failed(f"pull[{number}].build") for number in range(1, len(pulls) + 1))
    return set(builds) if doubtful or (top.failed("pull") and not pulls) else {entry.build for entry in pulls}


def _session_table(top: TomlTable) -> TomlTable:
    if "session" not in top:
        top.take(UnfinishedError("the table [session] is missing", where=top.at(),
                                 remedy="write [session] with a title and a standard at the top"))  # fmt: skip
        return TomlTable(None, file="", path="session", known=())
    return top.table("session", KEYS["session"])


def _standard(table: TomlTable) -> Standard:
    """The one standard of the findings."""
    if "standard" in table and isinstance(table.raw("standard"), list):
        table.take(table.refusal("standard", "a session has one standard",
                                 remedy="numbers of two standards cannot be compared; choose one"))  # fmt: skip
    return table.word("standard", STANDARDS)


def _windows(table: TomlTable, rpm: tuple[float, float] | None) -> tuple[tuple[float, float], ...]:
    if "windows" not in table:
        return ()
    windows: list[tuple[float, float]] = []
    for number, text in enumerate(table.texts("windows", example='["2500..3500 rpm"]'), start=1):
        low, high = table.span_of(text, f"windows[{number}]", Dimension.SPEED, SPEED_BOUNDS)
        if rpm is not None and (low < rpm[0] or high > rpm[1]):
            table.take(SessionFileError(
                f"this window goes beyond the range that is analysed, {rpm[0]:g} to {rpm[1]:g} rpm",
                where=table.at(f"windows[{number}]"), value=text,
                remedy=Way.RANGE.said("move it inside, or widen rpm in [session]"),
            ))  # fmt: skip
        windows.append((low, high))
    return tuple(windows)


def _demand_pulls(top: TomlTable, builds: Sequence[Build], run: set[str]) -> None:
    for number, build in enumerate(builds, start=1):
        if build.name and build.name not in run:
            top.take(UnfinishedError("this build has no pulls", where=top.at(f"build[{number}]"), value=build.name,
                                     remedy=Way.PULLS.said("add a [[pull]] with this build, or take the [[build]] out"),
                                     elsewhere=True))  # fmt: skip
