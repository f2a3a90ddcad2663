"""The dialect of a text file, from its first lines: what separates columns, and which mark is the decimal mark."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.capture.numbers import CellKind, kind_of, split_suffix

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Dialect", "fields_of", "sniff"]

_DELIMITERS: Final = ("\t", ";", "|", ",", " ")
_SAMPLE: Final = 8
_ENOUGH: Final = 0.1  # numbers a line beyond the first
_WIDE: Final = re.compile(r"\s{2,}|\t")
_BLANK: Final = re.compile(r"\s")
_POINTS: Final = {
    CellKind.NUMBER: 1.0,
    CellKind.CLOCK: 1.0,
    CellKind.MISSING: 0.6,
    CellKind.RANGE: 0.6,
    CellKind.EMPTY: 0.1,
}
_SEP: Final = re.compile(r'"?sep=(.)"?\s*', re.IGNORECASE)
_LETTERS: Final = re.compile(r"[^\W\d_]")
_NO_LETTERS: Final = {code: None for code in range(128) if not chr(code).isalpha()}
_DIGIT: Final = re.compile(r"[0-9]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a text file separates its cells.

    Attributes
    ----------
    delimiter : str
        One character; a blank stands for any run of blanks.
    decimal : str or None
        "." or "," where the numbers prove it; None where they leave it open.
    declared : bool
        Whether the first line says ``sep=;`` and is no row of its own.
    width : int
        Usual number of fields of a row of numbers. [1]
    spans : tuple of tuple of int
        First and last position of each column of a file of fixed width; empty where there are none.
    """

    delimiter: str
    decimal: str | None
    declared: bool = False
    width: int = 0
    spans: tuple[tuple[int, int], ...] = ()

    @property
    def in_words(self) -> str:
        """What a reader is told about the dialect."""
        names = {"\t": "tabs", " ": "blanks", ",": "commas", ";": "semicolons", "|": "strokes"}
        decimal = {".": "decimal point", ",": "decimal comma", None: "no certain decimal mark"}[self.decimal]
        return f"{names.get(self.delimiter, repr(self.delimiter))} between columns, {decimal}"


def sniff(lines: Sequence[str]) -> Dialect | None:
    """Dialect of a text file; None where no line holds two numbers.

    Parameters
    ----------
    lines : sequence of str
        First lines of the file, without line ends.

    Examples
    --------
    >>> sniff(["Drehzahl;Moment", "1500;98,2", "1600;99,75"]).in_words
    'semicolons between columns, decimal comma'
    """
    declared = _SEP.fullmatch(lines[0].lstrip()) if lines else None
    told = _telling(_spread(lines, 2 * _SAMPLE))
    if len(told) < _SAMPLE:
        told = _telling(lines)
    best = declared.group(1) if declared else _best(_spread(told))
    if best is None:  # rows may hold more words than numbers
        told = [line for line in lines if _DIGIT.search(line)]
        best = _best(_spread(told))
    if best is None:
        return None
    sample = _spread(told)
    widths = Counter(len(_split(line, best)) for line in sample)
    width = widths.most_common(1)[0][0] if widths else 0
    spans = _spans([line for line in sample if len(line.split()) == width], width) if best == " " else ()
    return Dialect(
        delimiter=best,
        decimal=_decimal(sample, best) or _decimal(told, best),
        declared=declared is not None,
        width=width,
        spans=spans,
    )


def _telling(lines: Sequence[str]) -> list[str]:
    """Lines with digits and not many letters."""
    return [line for line in lines if _DIGIT.search(line) and 3 * _letter_count(line) <= len(line) + 6]


def _spread(lines: Sequence[str], count: int = _SAMPLE) -> Sequence[str]:
    """Some lines from all over the sample, so that neither a long preamble nor a long footer decides."""
    return lines if len(lines) <= count else [lines[index * len(lines) // count] for index in range(count)]


def _best(sample: Sequence[str]) -> str | None:
    """Delimiter whose cells are most surely numbers; blanks, which group thousands, only where none is as sure."""
    tried = {delimiter: _score(sample, delimiter) for delimiter in _DELIMITERS}
    told = [delimiter for delimiter in _DELIMITERS if tried[delimiter][0] > _ENOUGH]
    return max(told, key=lambda delimiter: (tried[delimiter][1], delimiter != " ", tried[delimiter][0]), default=None)


def _letter_count(line: str) -> int:
    return len(line.translate(_NO_LETTERS)) if line.isascii() else len(_LETTERS.findall(line))


def _score(sample: Sequence[str], delimiter: str) -> tuple[float, float]:
    """Numbers beyond the first in a usual line, and the share of its cells that are numbers."""
    split = [_split(line, delimiter) for line in sample if delimiter == " " or delimiter in line]
    if not split:
        return 0.0, 0.0
    width = Counter(map(len, split)).most_common(1)[0][0]
    points = [[_points(cell, delimiter) for cell in cells] for cells in split if len(cells) == width]
    score = sum(max(0.0, sum(line) - 1.0) for line in points) / len(sample)
    cells = [point for line in points for point in line if point != _POINTS[CellKind.EMPTY]]
    sure = sum(point > 0.0 for point in cells) / max(len(cells), 1)
    return score, round(20.0 * sure) / 20.0


def _points(cell: str, delimiter: str) -> float:
    kind = kind_of(cell)
    if delimiter == "," and _BLANK.search(cell) and split_suffix(cell) is None and kind is not CellKind.CLOCK:
        return -0.5  # "39 0" of "-100,39 0,29": a decimal comma, cut in two
    return _POINTS.get(kind, -0.5)


def _split(line: str, delimiter: str) -> list[str]:
    if delimiter == " ":
        return line.split()
    if '"' in line:
        return [cell for cell, _ in _quoted(line, delimiter)]
    return [cell.strip() for cell in line.split(delimiter)]


def _quoted(line: str, delimiter: str) -> list[tuple[str, int]]:
    import csv

    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        cells = line.split(delimiter)
    return [(cell.strip().strip('"').strip(), index) for index, cell in enumerate(cells)]


def _spans(lines: Sequence[str], width: int) -> tuple[tuple[int, int], ...]:
    """Positions of the columns where they stand under each other with a blank column between them."""
    length = max((len(line) for line in lines), default=0)
    used = [any(index < len(line) and not line[index].isspace() for line in lines) for index in range(length)]
    edges = [
        index for index in range(length + 1) if (index < length and used[index]) != (index > 0 and used[index - 1])
    ]
    spans = tuple(zip(edges[::2], edges[1::2], strict=False))
    return spans if len(spans) == width and len(lines) > 2 else ()


def _decimal(lines: Sequence[str], delimiter: str) -> str | None:
    text = "\n".join(lines)
    proven = [mark for mark in ".," if mark != delimiter and _proof(mark, delimiter).search(text)]
    return proven[0] if len(proven) == 1 else None


def _proof(mark: str, delimiter: str) -> re.Pattern[str]:
    """A number in which `mark` can only be the decimal mark, standing alone in its cell."""
    edge = rf'[\s"{re.escape(delimiter)}]'
    point = re.escape(mark)
    number = rf"(?:(?:0|[0-9]{{4,}})?{point}[0-9]+|[0-9]+{point}(?:[0-9]{{1,2}}|[0-9]{{4,}}))(?:[eE][-+]?[0-9]+)?"
    return re.compile(rf"(?:^|(?<={edge}))[-+]?{number}(?={edge}|$)", re.MULTILINE)


def fields_of(line: str, dialect: Dialect) -> list[str]:
    """Cells of a line, without quotes and surrounding blanks.

    Examples
    --------
    >>> fields_of('1500;"98,2" ;', Dialect(delimiter=";", decimal=","))
    ['1500', '98,2', '']
    """
    if dialect.delimiter != " ":
        return _split(line, dialect.delimiter)
    cells = line.split()
    if len(cells) == dialect.width or not cells:
        return cells
    wide = _WIDE.split(line.strip())
    if len(wide) == dialect.width:
        return wide
    return _by_position(line, dialect.spans) if dialect.spans else cells


def _by_position(line: str, spans: Sequence[tuple[int, int]]) -> list[str]:
    cells = [""] * len(spans)
    for found in re.finditer(r"\S+", line):
        middle = (found.start() + found.end()) / 2.0
        nearest = min(range(len(spans)), key=lambda i: max(spans[i][0] - middle, middle - spans[i][1], 0.0))
        cells[nearest] = f"{cells[nearest]} {found.group()}".strip()
    return cells
