"""The one exception tree of pullbook.

::

    PullbookError                   what, where, value, remedy; one sentence
    +-- InputError                  a file, a session file or an option is wrong        exit status 2
    |   +-- UnitError               unit missing, unknown, or of another dimension
    |   +-- FileRefusedError        a file cannot be read as pulls
    |   +-- MappingError            a column could be several things
    |   +-- SessionFileError        session.toml says something impossible
    |   |   +-- UnfinishedError     session.toml lacks something that has to be there in the end
    |   +-- EngineFileError         engine.toml says something impossible
    |   +-- OutOfRangeError         a number outside the range where a formula holds
    |   +-- ConflictError           somebody else has changed the place meanwhile; holds both texts
    +-- RefusalError                the input is sound, but the data cannot answer      exit status 2
    +-- SimulationError             a run of the virtual engine went wrong numerically         exit status 1
    +-- FailureError                the disk, the browser, the machine                  exit status 1

Everything else that escapes is a defect of pullbook and also ends with exit status 1.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum, auto
from typing import ClassVar, Final

__all__ = [
    "Choice",
    "ConflictError",
    "EngineFileError",
    "FailureError",
    "FileRefusedError",
    "InputError",
    "MappingError",
    "OutOfRangeError",
    "PullbookError",
    "Question",
    "RefusalError",
    "Remedy",
    "SessionFileError",
    "SimulationError",
    "UnfinishedError",
    "UnitError",
    "Way",
]


# Column names and values come from files and may hold anything; a message is one line, and can be printed.
_UNPRINTABLE: Final = re.compile("[\\x00-\\x1f\\x7f-\\x9f\\u2028\\u2029\\ud800-\\udfff]")


def _escaped(found: re.Match[str]) -> str:
    """A character as it is written in a TOML string."""
    return {"\n": "\\n", "\r": "\\r", "\t": "\\t"}.get(found.group(), f"\\u{ord(found.group()):04x}")


class Way(StrEnum):
    """What the reader can do that each shell has its own means for: an option, a field of the page."""

    BASELINE = auto()
    BUILD_OUT = auto()
    BUILDS = auto()
    COLUMNS = auto()
    COLUMN_OR_NO_STANDARD = auto()
    DATE = auto()
    DEMO = auto()
    DISPLACEMENT = auto()
    EXAMPLE = auto()
    FACTORS = auto()
    FOLDER = auto()
    HUMIDITY = auto()
    INERTIA = auto()
    LEFT_OUT = auto()
    LOOK = auto()
    NEEDLESS = auto()
    ORDER = auto()
    PLAN = auto()
    PRESSURE = auto()
    PULLS = auto()
    RANGE = auto()
    RECEIVED = auto()
    REMEMBER = auto()
    REPEATS = auto()
    REPLACE = auto()
    SCALE = auto()
    STANDARD = auto()
    TEMPERATURE = auto()
    TIME = auto()
    WHICH = auto()
    WITHOUT_BANDS = auto()

    def said(self, says: str, value: str = "") -> Remedy:
        """Give the remedy with what is special about it."""
        return Remedy(way=self, says=says, value=value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """A remedy that each shell words for itself; the words are in ``cli/remedies.py`` and ``web/remedies.py``.

    Attributes
    ----------
    way : Way
        What can be done.
    says : str
        For whoever has neither options nor a page: in words, or as lines of the file that both shells share.
    value : str
        What is filled in, as it is typed into a field.
    """

    way: Way
    says: str
    value: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One answer to a `Question`.

    Attributes
    ----------
    says : str
        What is chosen, in words.
    columns : tuple of (str, str, str)
        Channel, column and unit of each rule that the choice means.
    received : str
        Standard that the numbers were corrected to, where that is the question.
    """

    says: str
    columns: tuple[tuple[str, str, str], ...] = ()
    received: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the tester can settle by choosing.

    Attributes
    ----------
    about : str
        Channel, or "received".
    says : str
        What is in doubt, without full stop.
    choices : tuple of Choice
        Proposals, the likeliest first where that is known.
    others : tuple of (str, str)
        Name and unit, as written, of every column that could be named instead.
    units : tuple of str
        Units that can be named with one of them.
    needed : bool
        Nothing can be read before it is answered; otherwise an answer was assumed.
    doubt : str
        The doubt of which this is the question; empty where it is needed.
    """

    about: str
    says: str
    choices: tuple[Choice, ...]
    others: tuple[tuple[str, str], ...] = ()
    units: tuple[str, ...] = ()
    needed: bool = True
    doubt: str = ""


class PullbookError(Exception):
    """What is wrong, where, with which value, and what to do about it.

    Parameters
    ----------
    what : str
        What is wrong, without full stop.
    where : str
        File, row, key or option. Empty where there is no place to name.
    value : str
        The offending value as it was written. Empty where there is none.
    remedy : str or Remedy
        What the reader can do, as an instruction without full stop.
    questions : tuple of Question
        What would settle it; empty where no choice can.

    Examples
    --------
    >>> str(PullbookError("the unit is missing", where="session.toml: pull[1].air.pressure",
    ...                   value="99.2", remedy="write for example '99.2 kPa'"))
    "session.toml: pull[1].air.pressure: the unit is missing ('99.2'); write for example '99.2 kPa'."
    """

    exit_status: ClassVar[int] = 1

    def __init__(
        self, what: str, *, where: str = "", value: str = "", remedy: str | Remedy = "",
        questions: tuple[Question, ...] = (),
    ) -> None:  # fmt: skip
        super().__init__(what)
        self.what = what
        self.where = where
        self.value = value
        self.coded = remedy if isinstance(remedy, Remedy) else None
        self.remedy = remedy.says if isinstance(remedy, Remedy) else remedy
        self.questions = questions

    def __str__(self) -> str:
        return self.told(self.remedy)

    def told(self, remedy: str) -> str:
        """Give the sentence with a remedy in the words of a shell."""
        place = f"{self.where}: " if self.where else ""
        value = f" ('{self.value}')" if self.value else ""
        remedy = f"; {remedy}" if remedy else ""
        return _UNPRINTABLE.sub(_escaped, f"{place}{self.what}{value}{remedy}.")


class InputError(PullbookError):
    """A file, a session file or an option is wrong; nothing was written."""

    exit_status = 2


class UnitError(InputError):
    """A unit is missing, unknown, or of another dimension."""


class FileRefusedError(InputError):
    """A file cannot be read as pulls."""


class MappingError(InputError):
    """A column could be several things and nobody has said which."""


class SessionFileError(InputError):
    """session.toml says something that cannot be meant."""


class UnfinishedError(SessionFileError):
    """session.toml lacks something that has to be there before anything can be compared.

    Parameters
    ----------
    what, where, value, remedy : str
        As in `PullbookError`.
    elsewhere : bool
        What is missing belongs into another table than the one that is named, as the pulls of a build.
    """

    def __init__(
        self, what: str, *, where: str = "", value: str = "", remedy: str | Remedy = "", elsewhere: bool = False
    ) -> None:
        super().__init__(what, where=where, value=value, remedy=remedy)
        self.elsewhere = elsewhere


class EngineFileError(InputError):
    """engine.toml says something that cannot be meant."""


class OutOfRangeError(InputError):
    """A number lies outside the range in which a formula holds."""


class ConflictError(InputError):
    """Somebody else has changed the same place meanwhile; nothing was written, and both texts are here.

    Parameters
    ----------
    what, where, value, remedy : str
        As in `PullbookError`.
    yours : str
        What was to be written.
    theirs : str
        What stands there now; empty where nothing does.
    """

    def __init__(
        self, what: str, *, where: str = "", value: str = "", remedy: str | Remedy = "", yours: str, theirs: str
    ) -> None:
        super().__init__(what, where=where, value=value, remedy=remedy)
        self.yours = yours
        self.theirs = theirs


class RefusalError(PullbookError):
    """The input is sound, but the data cannot answer the question."""

    exit_status = 2


class SimulationError(PullbookError):
    """A run of the virtual engine gave a state that is not a number or not physical; points already done are kept."""

    exit_status = 1


class FailureError(PullbookError):
    """The disk, the browser or the machine failed; what was there is still there."""

    exit_status = 1
