"""capture: file -> what was understood of it -> its pulls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.app.folder import read_bytes
from pullbook.capture.mapping import understand
from pullbook.capture.reader import read_tables
from pullbook.capture.segment import find_pulls
from pullbook.errors import FileRefusedError, MappingError, PullbookError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from pullbook.capture.segment import Segmentation
    from pullbook.records.declaration import ColumnRule
    from pullbook.records.pull import Log, Pull
    from pullbook.records.table import SourceFile

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
        What was understood.
    segmentation : Segmentation or None
        Pulls found and stretches set aside.
    refused : PullbookError or None
        Why it was not understood.
    """

    sheet: str
    rows: int
    log: Log | None
    segmentation: Segmentation | None
    refused: PullbookError | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CapturedFile:
    """A file and what was understood of it.

    Attributes
    ----------
    source : SourceFile
        The bytes.
    tables : tuple of CapturedTable
        Its tables, in order.
    """

    source: SourceFile
    tables: tuple[CapturedTable, ...]

    @property
    def pulls(self) -> tuple[Pull, ...]:
        """All pulls of the file, in order."""
        return tuple(pull for table in self.tables if table.segmentation for pull in table.segmentation.pulls)


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
        If the file cannot be read, or no table of it is understood.
    MappingError
        If the only table of it is ambiguous.
    """
    contents = read_tables(read_bytes(path, name), name)
    tables: list[CapturedTable] = []
    for number, table in enumerate(contents.tables, start=1):
        # Pulls of a later table get a name of their own, so that every name in a session is unique.
        label = name if len(contents.tables) == 1 else f"{name}[{table.sheet or number}]"
        try:
            log = understand(contents.source, table, tuple(rules))
        except (FileRefusedError, MappingError) as error:
            refused = CapturedTable(sheet=table.sheet, rows=len(table.rows), log=None, segmentation=None, refused=error)
            tables.append(refused)
            continue
        found = find_pulls(log, label)
        tables.append(CapturedTable(sheet=table.sheet, rows=len(table.rows), log=log, segmentation=found, refused=None))
    if all(table.refused for table in tables):
        raise _worst(tables)
    return CapturedFile(source=contents.source, tables=tuple(tables))


def _worst(tables: Sequence[CapturedTable]) -> PullbookError:
    """Reason to give for a file none of whose tables is understood.

    A question to the tester goes first, because an answer makes the file readable; then the largest table speaks.
    """
    errors = [table.refused for table in sorted(tables, key=lambda table: -table.rows) if table.refused]
    questions = [error for error in errors if isinstance(error, MappingError)]
    return (questions or errors)[0]


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
    FileRefusedError
        If the file has no full-throttle pull, fewer than `which`, or several and `which` is 0.
    """
    pulls = captured.pulls
    name = captured.source.name
    if not pulls:
        raise FileRefusedError(
            f"no full-throttle pull was found{_reasons(captured)}", where=name,
            remedy="use a file with a sweep at full throttle; 'pullbook capture' shows what is in this one",
        )  # fmt: skip
    if which == 0 and len(pulls) > 1:
        listed = "; ".join(f"which = {n}: {_span(pull)}" for n, pull in enumerate(pulls, start=1))
        raise FileRefusedError(
            f"the file has {len(pulls)} pulls ({listed})", where=f"{where}, {name}",
            remedy="say which one with 'which = 1' in its [[pull]]",
        )  # fmt: skip
    if which > len(pulls):
        raise FileRefusedError(
            f"the file has only {len(pulls)} pull{'s' if len(pulls) > 1 else ''}", where=f"{where}.which, {name}",
            value=str(which), remedy=f"write a number from 1 to {len(pulls)}",
        )  # fmt: skip
    return pulls[max(which, 1) - 1]


def _span(pull: Pull) -> str:
    return f"rows {int(pull.rows[0])} to {int(pull.rows[-1])}"


def _reasons(captured: CapturedFile) -> str:
    said = [aside.says for table in captured.tables if table.segmentation for aside in table.segmentation.set_aside]
    return f" ({said[0].rstrip('.')})" if said else ""


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
