"""The text of a session file with the pulls that are planned, before any of them has been made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.capture.session_edit_chunks import insert_chunk, remove_chunk
from pullbook.capture.session_edit_pairs import unset_value
from pullbook.capture.session_edit_values import value_text
from pullbook.quantities.toml_text import load_toml

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["PlannedEntry", "planned_text"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedEntry:
    """One pull that is planned.

    Attributes
    ----------
    build : str
        Its build.
    file : str
        Where its file will be, below the session folder.
    remark : str
        Line above it; empty for none.
    """

    build: str
    file: str
    remark: str = ""


def planned_text(text: str, entries: Sequence[PlannedEntry]) -> str:
    r"""Session file with the planned pulls in place of all that were in it.

    Looks at those pulls go with them; everything else stays as it is written, remarks included.

    Parameters
    ----------
    text : str
        The session file.
    entries : sequence of PlannedEntry
        The run order.

    Returns
    -------
    str
        The file anew.

    Examples
    --------
    >>> text = '[session]\ntitle = "T"\n'
    >>> print(planned_text(text, [PlannedEntry(build="A", file="pulls/01-A.csv", remark="Fitting 1")]))
    [session]
    title = "T"
    <BLANKLINE>
    # Fitting 1
    [[pull]]
    build = "A"
    file = "pulls/01-A.csv"
    <BLANKLINE>
    """
    there = load_toml(text, where="session.toml").get("pull", [])
    for number in range(len(there) if isinstance(there, list) else 0, 0, -1):
        text = remove_chunk(text, ("pull", number))
    text = unset_value(text, ("plan", "looks"))
    return insert_chunk(text, "pull", "\n".join(_piece(entry) for entry in entries))


def _piece(entry: PlannedEntry) -> str:
    lines = [f"# {entry.remark}"] if entry.remark else []
    lines += ["[[pull]]", f"build = {value_text(entry.build)}", f"file = {value_text(entry.file)}"]
    return "\n".join(lines) + "\n"
