"""capture: file -> what was understood of it -> its pulls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.app.folder import read_bytes
from pullbook.capture.mapping import survey, understand
from pullbook.capture.reader import read_tables
from pullbook.capture.segment import find_pulls
from pullbook.errors import FileRefusedError, MappingError, PullbookError, Way

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from pullbook.capture.segment import Segmentation
    from pullbook.records.declaration import ColumnRule
    from pullbook.records.pull import Log, Pull
    from pullbook.records.table import RawTable, SourceFile

__all__ = ["CapturedFile", "CapturedTable", "capture_file", "each_with_errors", "only_pull"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CapturedTable:
    """One table of a file: understood, or refused with the reason.

    Attributes
    ----------
    sheet : str
        Sheet, channel group or block.
    rows : int
        Number of records.
    log : Log or None
        What was understood; where the table was refused, what it holds all the same.
    segmentation : Segmentation or None
        Pulls found and stretches set aside.
    refused : PullbookError or None
        Why it was not understood.
    columns : tuple of (str, str)
        Name and unit of each column as the file writes them, those that hold nothing too.
    """

    sheet: str
    rows: int
    log: Log | None
    segmentation: Segmentation | None
    refused: PullbookError | None
    columns: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CapturedFile:
    """A file and what was understood of it.

    Attributes
    ----------
    source : SourceFile
        The bytes.
    tables : tuple of CapturedTable
        Its tables, in order.
    cut_row : int
        Row in whose middle the file ends; 0 where it is whole.
    """

    source: SourceFile
    tables: tuple[CapturedTable, ...]
    cut_row: int = 0

    @property
    def pulls(self) -> tuple[Pull, ...]:
        """All pulls of the file, in order."""
        return tuple(pull for table in self.tables if table.segmentation for pull in table.segmentation.pulls)

    @property
    def refused(self) -> PullbookError | None:
        """Why no table of the file is understood; None where one is.

        A question to the tester goes first, because an answer makes the file readable; then the largest table speaks.
        """
        if not all(table.refused for table in self.tables):
            return None
        errors = [table.refused for table in sorted(self.tables, key=lambda table: -table.rows) if table.refused]
        questions = [error for error in errors if isinstance(error, MappingError)]
        return (questions or errors)[0]


def capture_file(path: Path, name: str, rules: Sequence[ColumnRule] = ()) -> CapturedFile:
    """Understand one file.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        How the session names it.
    rules : sequence of ColumnRule
        The tester's word on its columns.

    Returns
    -------
    captured : CapturedFile
        Tables and pulls.

    Raises
    ------
    FileRefusedError
        If the file cannot be read as tables of numbers.
    """
    contents = read_tables(read_bytes(path, name), name)
    tables: list[CapturedTable] = []
    for number, table in enumerate(contents.tables, start=1):
        # Pulls of a later table get a name of their own, so that every name in a session is unique.
        label = name if len(contents.tables) == 1 else f"{name}[{table.sheet or number}]"
        tables.append(_captured(contents.source, table, tuple(rules), label))
    cut_row = max(table.cut_row for table in contents.tables)
    return CapturedFile(source=contents.source, tables=tuple(tables), cut_row=cut_row)


def _captured(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...], label: str) -> CapturedTable:
    log: Log | None = None
    refused: PullbookError | None = None
    try:
        log = understand(source, table, rules)
    except (FileRefusedError, MappingError) as error:
        refused = error
    found = find_pulls(log, label) if log is not None else None
    if refused is not None:
        log = _surveyed(source, table, rules)
    return CapturedTable(
        sheet=table.sheet, rows=len(table.rows), log=log, segmentation=found, refused=refused,
        columns=table.header or tuple(zip(table.names, table.units, strict=True)),
    )  # fmt: skip


def _surveyed(source: SourceFile, table: RawTable, rules: tuple[ColumnRule, ...]) -> Log | None:
    """What a table holds that cannot be compared; None where even that is not clear."""
    try:
        return survey(source, table, rules)
    except (FileRefusedError, MappingError):
        return None


def only_pull(captured: CapturedFile, which: int, where: str) -> Pull:
    """Pull that an entry of the run order means.

    Parameters
    ----------
    captured : CapturedFile
        The file.
    which : int
        Number of the pull in the file, from 1; 0 for the only one.
    where : str
        Place of the entry, for messages.

    Returns
    -------
    pull : Pull
        The pull.

    Raises
    ------
    MappingError
        If the file is ambiguous.
    FileRefusedError
        If the file is not understood, ends within a row, has no full-throttle pull, fewer than `which`, or several
        and `which` is 0.
    """
    if captured.refused is not None:
        raise captured.refused
    pulls = captured.pulls
    name = captured.source.name
    if captured.cut_row:
        # Nobody knows how much of the pull is missing, and a comparison that is to be defended cannot rest on it.
        raise FileRefusedError(
            f"the file ends in the middle of row {captured.cut_row}", where=name,
            remedy="export it again; if the pull is whole without that row, delete the row",
        )  # fmt: skip
    if not pulls:
        seen = [table.segmentation.why_no_pull for table in captured.tables if table.segmentation]
        raise FileRefusedError(
            f"there is no full-throttle pull{f' ({seen[0]})' if seen and seen[0] else ''}", where=name,
            remedy=Way.LOOK.said("give a file with a sweep at full throttle"),
        )  # fmt: skip
    if which == 0 and len(pulls) > 1:
        listed = "; ".join(f"which = {n}: {_span(pull)}" for n, pull in enumerate(pulls, start=1))
        raise FileRefusedError(
            f"the file has {len(pulls)} pulls ({listed})", where=f"{where}, {name}",
            remedy=Way.WHICH.said("say which one with 'which = 1' in its [[pull]]"),
        )  # fmt: skip
    if which > len(pulls):
        raise FileRefusedError(
            f"the file has only {len(pulls)} pull{'s' if len(pulls) > 1 else ''}", where=f"{where}.which, {name}",
            value=str(which), remedy=f"write a number from 1 to {len(pulls)}",
        )  # fmt: skip
    return pulls[max(which, 1) - 1]


def _span(pull: Pull) -> str:
    return f"rows {int(pull.rows[0])} to {int(pull.rows[-1])}"


def each_with_errors(
    names: Sequence[str], read: Callable[[str], CapturedFile]
) -> list[tuple[str, CapturedFile | PullbookError]]:
    """Captured files in order, with the error in the place of a file that was refused."""
    results: list[tuple[str, CapturedFile | PullbookError]] = []
    for name in names:
        try:
            results.append((name, read(name)))
        except PullbookError as error:
            results.append((name, error))
    return results
