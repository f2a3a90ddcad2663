"""Text files of any dialect: bytes in, tables out.

The first lines are read with care, one by one. As soon as a table is open, whole blocks of lines are tried on the
fast reader of `pullbook.capture.regular`; a block that holds anything odd is halved until the odd lines are found,
and these are read with care again.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.capture.blocks import BlockReader
from pullbook.capture.encoding import Decoder, decoder_for
from pullbook.capture.open_table import Record, Writing, filled_width, is_record, kinds_of
from pullbook.capture.regular import parse_rows
from pullbook.capture.sniff import Dialect, fields_of, sniff
from pullbook.errors import FileRefusedError

if TYPE_CHECKING:
    from pullbook.records.table import RawTable

__all__ = ["read_text"]

_HEAD: Final = 1 << 14
_AHEAD: Final = 1 << 16
_BLOCK: Final = 1 << 19
_FIRST: Final = 1 << 9
_SMALLEST: Final = 1 << 12
_CONTROL: Final = re.compile(rb"[\x00-\x08\x0e-\x1f]")
_CAREFUL_ROWS: Final = 3  # records that are read one by one before the fast reader takes over
_QUOTED_LINES: Final = 6  # a quoted cell runs over so many lines at most; beyond that the quote is a stray one


def read_text(data: bytes | memoryview, name: str) -> tuple[str, tuple[RawTable, ...]]:
    """Layout in words, and the tables of a text file.

    Parameters
    ----------
    data : bytes or memoryview
        The file.
    name : str
        Its name, for error messages.

    Raises
    ------
    FileRefusedError
        If it is no text, or holds no table of numbers.
    """
    decoder = decoder_for(data)
    reader = _TextReader(decoder, name)
    reader.run()
    tables = reader.finish()
    if not tables:
        raise _refused(name)
    return f"text, {decoder.in_words}, {reader.dialect.in_words}", tables


def _refused(name: str) -> FileRefusedError:
    return FileRefusedError(
        "there is no table with two columns of numbers", where=name,
        remedy="export the pull as text with engine speed and torque or power in columns",
    )  # fmt: skip


def _dialect_of(decoder: Decoder, name: str) -> Dialect:
    """Dialect from a short head, or from a longer one where the short one leaves something open."""
    dialect: Dialect | None = None
    for size in (_HEAD, 16 * _HEAD):
        head = bytes(decoder.data[:size])
        if len(head) < len(decoder.data):
            head = head[: max(head.rfind(b"\n"), head.rfind(b"\r")) + 1] or head
        control = _CONTROL.search(head)
        text = head if control is None else head[: head.rfind(b"\n", 0, control.start()) + 1]
        dialect = sniff(decoder.lines(text)) or dialect
        if (dialect is not None and dialect.decimal is not None) or len(decoder.data) <= size:
            break
    if dialect is None:
        if _CONTROL.search(bytes(decoder.data[:64])):
            raise FileRefusedError(
                "this is a binary file of an unknown kind", where=name,
                remedy="export the pull as text or as a spreadsheet",
            )  # fmt: skip
        raise _refused(name)
    return dialect


class _TextReader:
    def __init__(self, decoder: Decoder, name: str) -> None:
        self._decoder = decoder
        self._data = decoder.data
        self._name = name
        self._row = 1
        self._doubts: list[str] = list(decoder.doubts)
        self._recent: list[str] = []
        self._cut_row = 0
        self.dialect = _dialect_of(decoder, name)
        dialect = self.dialect
        writing = Writing(decimal=dialect.decimal, comma_between=dialect.delimiter == ",")
        self._reader = BlockReader(writing, name)
        self._position = 0

    def run(self) -> None:
        """Read the file from top to end."""
        while self._position < len(self._data):
            block = self._next_block()
            if not self._take(block):
                return

    def finish(self) -> tuple[RawTable, ...]:
        """The tables, with what is in doubt about the file as a whole."""
        doubts = tuple(self._doubts) + self._decoder.late_doubts()
        tables = self._reader.finish()
        return tuple(
            replace(
                table,
                doubts=(*doubts, *table.doubts),
                cut_row=table.cut_row or (self._cut_row if table is tables[-1] else 0),
            )
            for table in tables
        )

    def _next_block(self) -> bytes:
        start = self._position
        table = self._reader.current
        size = _BLOCK if table is not None and len(table) >= _CAREFUL_ROWS else _FIRST
        block, end = b"", 0
        while not end:  # a line may be longer than the block that was meant
            block = bytes(self._data[start : start + size])
            if start + len(block) >= len(self._data):
                end = len(block)
            else:
                end = block.rfind(b"\n") + 1 or block.rfind(b"\r", 0, -1) + 1
            size *= 4
        self._position = start + end
        return block[:end]

    def _take(self, block: bytes) -> bool:
        """Read a block of whole lines; False where the file ends for good."""
        table = self._reader.current
        if table is not None and len(table) >= _CAREFUL_ROWS and block.endswith((b"\n", b"\r")):
            rows = parse_rows(block, delimiter=self.dialect.delimiter, decimal=self.dialect.decimal, width=table.needed)
            if rows is not None:
                self._reader.feed_block(rows, self._row)
                self._row += len(rows)
                self._recent = self._decoder.lines(block[-2000:])[-4:]
                return True
            if len(block) > _SMALLEST:
                cut = block.find(b"\n", len(block) // 2) + 1
                if 0 < cut < len(block):
                    return self._take(block[:cut]) and self._take(block[cut:])
        return self._take_lines(block)

    def _take_lines(self, block: bytes) -> bool:
        lines = block.splitlines()
        complete = block.endswith((b"\n", b"\r"))
        index = 0
        while index < len(lines):
            line = lines[index]
            if _CONTROL.search(line):
                if self._is_trailer(lines[index:]):
                    return False
                self._row += 1
                index += 1
                continue
            text, used = self._join_quoted(lines, index)
            index += used
            if self._row == 1 and self.dialect.declared:
                self._row += 1
                continue
            if index < len(lines) or complete or not self._looks_cut(text):
                self._reader.feed(Record(self._row, fields_of(text, self.dialect), text))
            self._recent = [*self._recent[-3:], text]
            self._row += used
        return True

    def _join_quoted(self, lines: list[bytes], index: int) -> tuple[str, int]:
        text = self._decoder.line(lines[index], self._row)
        if text.count('"') % 2 == 0:
            return text, 1
        for used in range(2, _QUOTED_LINES + 1):
            joined = "\n".join(self._decoder.line(line) for line in lines[index : index + used])
            if joined.count('"') % 2 == 0 and index + used <= len(lines):
                return joined, used
        return text.replace('"', ""), 1

    def _looks_cut(self, text: str) -> bool:
        """Whether the last number of the file has fewer digits after its mark than those above it."""
        endings = [_ending(line, self.dialect) for line in self._recent]
        last = _ending(text, self.dialect)
        usual = endings[0] if endings else None
        if len(endings) < 3 or last is None or usual is None or any(ending != usual for ending in endings):
            return False
        if usual <= last:
            return False
        self._cut_row = self._row
        self._doubts.append(f"row {self._row}: the file ends in the middle of its last number; the row was left out")
        return True

    def _is_trailer(self, lines: list[bytes]) -> bool:
        """Whether nothing but bytes that are no text follows; otherwise one spoilt line is left out."""
        rest = lines + bytes(self._data[self._position : self._position + _AHEAD]).splitlines()
        table = self._reader.current
        needed = table.needed if table is not None else 2
        clean = (self._decoder.line(line) for line in rest[:2000] if not _CONTROL.search(line))
        if any(_is_row(fields_of(line, self.dialect), needed) for line in clean):
            self._doubts.append(f"row {self._row}: it holds bytes that are no text; left out")
            return False
        size = len(self._data) - self._position + sum(len(line) + 1 for line in lines)
        if size > 4:  # a lone end-of-file mark is no news
            self._doubts.append(f"from row {self._row} on, about {size} bytes are no text and were cut off")
        return True


def _is_row(cells: list[str], needed: int) -> bool:
    return filled_width(cells) >= needed and is_record(cells, kinds_of(cells), inside=False)


def _ending(line: str, dialect: Dialect) -> int | None:
    """Digits after the decimal mark in the last filled cell of a line; -1 without a mark, None without a number."""
    cells = [cell for cell in fields_of(line, dialect) if cell]
    if not cells or (not cells[-1][-1:].isdigit() and not cells[-1].endswith((".", ","))):
        return None
    whole, mark, rest = cells[-1].rpartition(dialect.decimal or ".")
    return len(rest) if mark and whole != "" else -1
