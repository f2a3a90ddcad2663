"""Remedies in the words of the page: its fields and buttons by the names that stand on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.errors import Way

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.errors import PullbookError
    from pullbook.records.draft import Problem

__all__ = ["WORDS", "PageWords", "offers", "remedy_on_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PageWords:
    """A remedy in the words of the page.

    Attributes
    ----------
    says : str
        An instruction; ``{says}`` stands for the words of the error, ``{value}`` for what is filled in.
    controls : tuple of str
        Fields, buttons and headings that it names, as the templates have them; none where the words stand beside the
        field that they are about.
    """

    says: str
    controls: tuple[str, ...] = ()


_COLUMN: Final = "say on the card of the file which column it is"

WORDS: Final[Mapping[Way, PageWords]] = {
    Way.BASELINE: PageWords(says="choose one build as the baseline under Builds", controls=("baseline", "Builds")),
    Way.BUILD_OUT: PageWords(says="make the pull again, or Remove the build", controls=("Remove",)),
    Way.BUILDS: PageWords(
        says="write the first set of parts under Builds, and press Add the build", controls=("Builds", "Add the build")
    ),
    Way.COLUMNS: PageWords(
        says="answer what the card of the file asks, and press That is it", controls=("That is it",)
    ),
    Way.COLUMN_OR_NO_STANDARD: PageWords(
        says="say on the card of the file which column is {value}, or choose none under Correct the findings to",
        controls=("Correct the findings to",),
    ),
    Way.DATE: PageWords(says="correct Made at of the pull, or Date under The question", controls=("Made at", "Date")),
    Way.DEMO: PageWords(
        says="{says}, or press Write the demo session on the list of sessions", controls=("Write the demo session",)
    ),
    Way.DISPLACEMENT: PageWords(says="write Displacement, for example 2.0 L", controls=("Displacement",)),
    Way.EXAMPLE: PageWords(says="write for example {value}"),
    Way.FACTORS: PageWords(
        says="write each thing that is changed under What is changed, and press Add the factor",
        controls=("What is changed", "Add the factor"),
    ),
    Way.FOLDER: PageWords(says="choose it in the list of Sessions", controls=("Sessions",)),
    Way.HUMIDITY: PageWords(
        says='write Humidity on the run sheet, "0 %" if the air is to be taken as dry, or choose DIN 70020 under '
        "Correct the findings to, which needs none",
        controls=("Humidity", "Correct the findings to"),
    ),
    Way.INERTIA: PageWords(
        says="look at the time column of the file, or empty Inertia of a sweep", controls=("Inertia of a sweep",)
    ),
    Way.LEFT_OUT: PageWords(
        says="press Leave out for the odd pull on the run sheet, or widen Range of speed to compare",
        controls=("Leave out", "Range of speed to compare"),
    ),
    Way.LOOK: PageWords(says="{says}; the card of the file shows the columns understood", controls=("understood",)),
    Way.NEEDLESS: PageWords(says="write the largest difference that does not matter, as in {value}"),
    Way.ORDER: PageWords(
        says="move the pull with Earlier or Later, or correct Made at", controls=("Earlier", "Later", "Made at")
    ),
    Way.PLAN: PageWords(says="press Take this order under a plan first", controls=("Take this order",)),
    Way.PRESSURE: PageWords(
        says="write Pressure on the run sheet, the absolute pressure at the inlet and not the sea-level pressure of a "
        f"weather service, or {_COLUMN}",
        controls=("Pressure",),
    ),
    Way.PULLS: PageWords(says="drop its files on the build, or Remove the build", controls=("Remove",)),
    Way.RANGE: PageWords(
        says="move it inside, or widen Range of speed to compare", controls=("Range of speed to compare",)
    ),
    Way.RECEIVED: PageWords(
        says="choose under Numbers in this file are what they are, or once under Numbers in the files are",
        controls=("Numbers in this file are", "Numbers in the files are"),
    ),
    Way.REMEMBER: PageWords(says="press Remember on the page of a session", controls=("Remember",)),
    Way.REPEATS: PageWords(
        says="press Add the build for another set of parts only; repeats are more pulls", controls=("Add the build",)
    ),
    Way.REPLACE: PageWords(says="give it another Title", controls=("Title",)),
    Way.SCALE: PageWords(
        says="write Mean torque or Peak power, roughly, for example {value}, or ask in per cent",
        controls=("Mean torque", "Peak power"),
    ),
    Way.STANDARD: PageWords(says="choose {value} under Correct the findings to", controls=("Correct the findings to",)),
    Way.TEMPERATURE: PageWords(
        says=f"write the temperature under Air on the run sheet, or {_COLUMN}", controls=("Air",)
    ),
    Way.TIME: PageWords(says="allow more under Time there is, or Remove a build", controls=("Time there is", "Remove")),
    Way.WHICH: PageWords(
        says="say which one under Number in the file, or press Take the line out",
        controls=("Number in the file", "Take the line out"),
    ),
    Way.WITHOUT_BANDS: PageWords(
        says="make a second pull of at least one build, or press Show the curves without bands",
        controls=("Show the curves without bands",),
    ),
}
"""Words of each way."""


def remedy_on_page(error: PullbookError | Problem) -> str:
    """Remedy of an error, or of a problem of a session file, for somebody who has the page before him.

    Examples
    --------
    >>> from pullbook.errors import InputError
    >>> error = InputError("no title", remedy=Way.EXAMPLE.said('write for example title = "A"', "A"))
    >>> remedy_on_page(error), remedy_on_page(InputError("no unit", remedy="write a unit"))
    ('write for example A', 'write a unit')
    """
    if error.coded is None:
        return error.remedy
    return WORDS[error.coded.way].says.format(says=error.coded.says, value=error.coded.value)


def offers(form: Mapping[str, object] | None, *ways: Way) -> bool:
    """Whether an error, as plain data, has one of some remedies; only for those that nothing is filled into."""
    return form is not None and form["remedy"] in {WORDS[way].says for way in ways}
