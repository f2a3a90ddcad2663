"""What several routes of scripts declare: the form of their errors, and the questions of an address."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from fastapi import Query

from pullbook.web.asked import LONGEST, Asked
from pullbook.web.models import ErrorBody

__all__ = ["ERRORS", "asked_of"]

ERRORS: Final[dict[int | str, dict[str, Any]]] = {
    status: {"model": ErrorBody, "description": says}
    for status, says in (
        (403, "The token is missing, or the request comes from another site."),
        (404, "What is named is not there."),
        (409, "The file holds something else by now; both versions are in the answer."),
        (413, "It is too large."),
        (422, "A value is wrong, or the data cannot answer; nothing was changed."),
        (500, "The work failed or its worker died; it can be asked for again."),
        (503, "The notebook has too much to do, or files change while they are read; it can be asked for again."),
        (507, "The disk is full or cannot be written to; nothing was changed."),
    )
}


def _word(name: str, description: str) -> Any:  # noqa: ANN401 - what the toolkit takes
    return Query(alias=name, max_length=LONGEST[name], description=description)


def asked_of(
    units: Annotated[Literal["metric", "us"], Query(description="Units of sentences.")] = "metric",
    standard: Annotated[str, _word("standard", "Standard instead of that of the session.")] = "",
    of: Annotated[str, _word("of", "Build that is compared; empty for all.")] = "",
    from_: Annotated[str, _word("from", "Build it is compared with.")] = "",
    window: Annotated[str, _word("window", "Ranges of speed, as 2500..3500,5000..6500.")] = "",
    *, without_bands: Annotated[bool, Query(description="Curves even where no doubt can be stated.")] = False,
) -> Asked:  # fmt: skip
    """Question of an address; `asked_in` reads the same words for a page."""
    return Asked(units=units, standard=standard, of=of, from_=from_, window=window, without_bands=without_bands)
