"""What a zipped spreadsheet would become when it is unpacked: looked at before anything is unpacked in earnest."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from typing import Final
from xml.parsers import expat

from pullbook.errors import FileRefusedError

__all__ = ["check_unzipped"]

_MOST_BYTES: Final = 400_000_000
_LARGEST_RATIO: Final = 1032  # of deflate: 258 bytes for two bits
_MOST_FILES: Final = 2_000
_MOST_CELLS: Final = 5_000_000
_PIECE: Final = 1 << 20
_CELL: Final = re.compile(rb"""\br=["']([A-Z]{1,3})([0-9]{1,7})["']""")


def check_unzipped(data: bytes | memoryview, name: str) -> str:
    """Kind of a zipped spreadsheet, "xlsx" or "ods", when it is safe to unpack.

    Parameters
    ----------
    data : bytes or memoryview
        The file.
    name : str
        Its name, for error messages.

    Raises
    ------
    FileRefusedError
        If it is no spreadsheet, is damaged, or unpacks to more bytes or cells than any pull has.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_sizes(data, archive.infolist(), name)
            return _check(archive, name)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError, KeyError):
        raise FileRefusedError(
            "the spreadsheet is damaged", where=name, remedy="save it again, or export it as text"
        ) from None


def _check_sizes(data: bytes | memoryview, entries: list[zipfile.ZipInfo], name: str) -> None:
    """Raise where the entries unpack to too much; the sizes that a file claims are not believed."""
    if len(entries) > _MOST_FILES or sum(entry.file_size for entry in entries) > _MOST_BYTES:
        raise _bomb(name)
    if sum(entry.compress_size for entry in entries) * _LARGEST_RATIO <= _MOST_BYTES:
        return
    room = _MOST_BYTES
    for entry in entries:
        if entry.compress_type == zipfile.ZIP_DEFLATED:
            room -= _inflated_size(data, entry, room)
        if room <= 0:
            raise _bomb(name)


def _inflated_size(data: bytes | memoryview, entry: zipfile.ZipInfo, most: int) -> int:
    """Bytes that an entry really unpacks to, counted up to a limit."""
    names = bytes(data[entry.header_offset + 26 : entry.header_offset + 30])
    start = entry.header_offset + 30 + int.from_bytes(names[:2], "little") + int.from_bytes(names[2:], "little")
    packed = bytes(data[start : start + entry.compress_size])
    inflater = zlib.decompressobj(-zlib.MAX_WBITS)
    size = 0
    while packed and size <= most and not inflater.eof:
        size += len(inflater.decompress(packed, _PIECE))
        packed = inflater.unconsumed_tail
    return size


def _check(archive: zipfile.ZipFile, name: str) -> str:
    entries = archive.infolist()
    names = {entry.filename for entry in entries}
    if "content.xml" in names:
        _check_ods(archive, name)
        return "ods"
    if not any(entry.startswith("xl/") for entry in names):
        raise FileRefusedError(
            "this is a zip archive, not a spreadsheet", where=name, remedy="unpack it and name the files in it"
        )
    for entry in entries:
        if entry.filename.startswith("xl/worksheets/") and entry.filename.endswith((".xml", ".bin")):
            _check_xlsx_sheet(archive, entry, name)
    return "xlsx"


def _check_xlsx_sheet(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str) -> None:
    """Rows times columns that the references of the cells span."""
    columns: set[bytes] = set()
    lowest = 0
    tail = b""
    with archive.open(entry) as stream:
        while piece := stream.read(_PIECE):
            text = tail + piece
            for letters, digits in _CELL.findall(text):
                columns.add(letters)
                lowest = max(lowest, int(digits))
            tail = text[-16:]
    widest = max((_column_number(letters) for letters in columns), default=0)
    if widest * lowest > _MOST_CELLS:
        raise _bomb(name)


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


class _Extent:
    """Counts the cells that a sheet of an ods file spans: repeated cells and rows are written only once."""

    def __init__(self) -> None:
        self.rows = self.columns = self.column = self.largest = 0
        self._repeat = 1
        self._filled = False

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if tag.endswith(":table"):
            self.rows = self.columns = 0
        elif tag.endswith(":table-row"):
            self._repeat = _repeat(attributes, "rows")
            self.column, self._filled = 0, False
        elif tag.endswith("table-cell"):
            self.column += _repeat(attributes, "columns")
            if any(key.endswith(":value-type") for key in attributes):
                self._filled = True
                self.columns = max(self.columns, self.column)

    def end(self, tag: str) -> None:
        if tag.endswith(":table-row"):
            self.rows += self._repeat
            if self._filled:
                self.largest = max(self.largest, self.rows * self.columns)


def _repeat(attributes: dict[str, str], what: str) -> int:
    text = next((value for key, value in attributes.items() if key.endswith(f"number-{what}-repeated")), "1")
    return int(text) if text.isdigit() else 1


def _check_ods(archive: zipfile.ZipFile, name: str) -> None:
    extent = _Extent()
    parser = expat.ParserCreate()
    parser.StartElementHandler = extent.start
    parser.EndElementHandler = extent.end
    try:
        with archive.open("content.xml") as stream:
            while piece := stream.read(_PIECE):
                parser.Parse(piece)
                if extent.largest > _MOST_CELLS:
                    raise _bomb(name)
    except expat.ExpatError:
        raise FileRefusedError(
            "the spreadsheet is damaged", where=name, remedy="save it again, or export it as text"
        ) from None


def _bomb(name: str) -> FileRefusedError:
    return FileRefusedError(
        f"the spreadsheet unpacks to more than {_MOST_BYTES // 1_000_000} MB or {_MOST_CELLS} cells in a sheet",
        where=name, remedy="keep one table in it, or export it as text",
    )  # fmt: skip
