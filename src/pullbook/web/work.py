"""The kinds of long work: what a worker process runs, by name.

Each is a function ``kind(progress, **arguments) -> files``: arguments are plain data that JSON can carry, files are
names and bytes. The module is imported by the server as well, so everything heavy is imported inside.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pullbook.app.question import asked
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pullbook.app.ports import Progress

__all__ = ["KINDS", "WARM", "Kind", "compare", "json_bytes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of work.

    Attributes
    ----------
    run : callable
        Takes the progress and the arguments of the task by name, gives names and bytes of files.
    urgent : bool
        Whether somebody waits for it before the page; work that is not urgent waits for all that is, and leaves one
        worker free.
    split : str
        Argument, a list, that is divided among the workers; the files that the parts give are JSON lists and are
        joined in order. Empty where the work is one piece.
    """

    run: Callable[..., Mapping[str, bytes]]
    urgent: bool = True
    split: str = ""


def json_bytes(content: object) -> bytes:
    """JSON as the commands write it."""
    return (json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def compare(
    progress: Progress,
    *,
    folder: str,
    units: str = "metric",
    window: str = "",
    standard: str = "",
    without_bands: bool = False,
    **pair: str,
) -> dict[str, bytes]:
    """Compare the builds of a session; ``findings.json`` is what ``pullbook compare --json`` writes.

    Parameters
    ----------
    progress : Progress
        Is told how far the work is.
    folder : str
        The session folder.
    units : str
        Units of sentences: metric or us.
    window : str
        Ranges of speed, as in "2500..3500", with commas between them.
    standard : str
        Name of a standard; empty for that of the session file.
    without_bands : bool
        Curves are wanted even where no doubt can be stated.
    **pair : str
        Builds ``of`` and ``from``; empty or left out for every build from the baseline.
    """
    from pullbook.app.compare_builds import compare_session
    from pullbook.records.codec import findings_to_json

    question = asked(
        UnitSystem(units), [text for text in window.split(",") if text],
        pair=(pair.get("of", ""), pair.get("from", "")), standard=standard, without_bands=without_bands, mark="",
    )  # fmt: skip
    result = compare_session(Path(folder), question, progress)
    return {"findings.json": json_bytes(findings_to_json(result))}


KINDS: Final[dict[str, Kind]] = {
    "compare": Kind(run=compare),
}
"""Kinds of work by the name that a `Task` gives."""

WARM: Final = ("pullbook.app.compare_builds", "pullbook.records.codec")
"""Modules that a worker imports while it has nothing to do, in this order."""
