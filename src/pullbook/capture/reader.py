"""Any file that a bench writes: bytes in, tables of numbers out, or one sentence why not."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.capture.text import read_text
from pullbook.errors import FileRefusedError
from pullbook.records.table import RawTable, SourceFile

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeAlias

    Reader: TypeAlias = Callable[[bytes | memoryview, str], tuple[str, tuple[RawTable, ...]]]

__all__ = ["FileContents", "read_tables"]

_LARGEST: Final = 2_000_000_000
_KNOWN_BINARIES: Final = (
    (b"%PDF-", "a PDF document"),
    (b"\x89PNG\r\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF87a", "a picture"),
    (b"GIF89a", "a picture"),
    (b"\x1f\x8b", "compressed by gzip"),
    (b"BZh91AY&SY", "compressed by bzip2"),
    (b"\xfd7zXZ", "compressed by xz"),
    (b"7z\xbc\xaf", "a 7-Zip archive"),
    (b"Rar!\x1a", "a RAR archive"),
    (b"SQLite format 3", "a database"),
    (b"\x89HDF", "an HDF5 file"),
    (b"MATLAB 5.0", "a MATLAB file"),
    (b"PAR1\x15", "a Parquet file"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90\x00", "a program"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FileContents:
    """What was understood of one file.

    Attributes
    ----------
    source : SourceFile
        Identity of the bytes and their layout in words.
    tables : tuple of RawTable
        Sheets, header blocks, channel groups and runs, each a table of its own, in the order of the file.
    """

    source: SourceFile
    tables: tuple[RawTable, ...]


def read_tables(data: bytes | memoryview, name: str) -> FileContents:
    r"""Tables of numbers in a file of any layout that pullbook knows.

    Parameters
    ----------
    data : bytes or memoryview
        The file as it is on the disk; a `memoryview` of a mapped file keeps a large log out of memory.
    name : str
        Path as the session names it, for messages and for the record; nothing is opened.

    Returns
    -------
    FileContents
        At least one table with at least one row.

    Raises
    ------
    FileRefusedError
        If the file is empty, too large, of an unknown kind, damaged, or holds no table of numbers.

    Notes
    -----
    Values are exactly those that the file writes, as the nearest float; what had to be guessed or left out is in
    `RawTable.doubts`. The kind of the file is told by its first bytes, never by its name.

    Examples
    --------
    >>> contents = read_tables(b"Speed [rpm];Torque [Nm]\n1500;98,2\n1600;99,7\n", "pulls/a1.csv")
    >>> contents.tables[0].names, contents.tables[0].units
    (('Speed', 'Torque'), ('rpm', 'Nm'))
    >>> contents.tables[0].columns[1].tolist()
    [98.2, 99.7]
    """
    size = len(data) if isinstance(data, bytes) else data.nbytes
    if size > _LARGEST:
        raise FileRefusedError(
            f"the file has {size / 1e9:.1f} GB, and at most {_LARGEST / 1e9:.0f} are read", where=name,
            remedy="export only the pulls, or fewer channels",
        )  # fmt: skip
    if size == 0:
        raise FileRefusedError("the file is empty", where=name, remedy="export the pull again")
    view = data if isinstance(data, bytes) else data.cast("B")
    layout, tables = _reader_for(bytes(view[:64]), name)(view, name)
    source = SourceFile(name=name, sha256=hashlib.sha256(view).hexdigest(), size=size, layout=layout)
    return FileContents(source=source, tables=tables)


def _reader_for(start: bytes, name: str) -> Reader:
    """Reader for the kind of file that the first bytes tell."""
    if start.startswith((b"MDF     ", b"UnFinMF ")):
        from pullbook.capture.measurement import read_measurement

        return read_measurement
    if start.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
        from pullbook.capture.workbook import read_workbook

        return read_workbook
    for magic, kind in _KNOWN_BINARIES:
        if start.startswith(magic):
            raise FileRefusedError(
                f"this is {kind}, not a pull", where=name, remedy="export the pull as text or as a spreadsheet"
            )
    return read_text
