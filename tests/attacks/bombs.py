"""Small files that want to become very large ones."""

from __future__ import annotations

import io
import struct
import zipfile
from typing import Final

__all__ = ["BOMBS"]

_TYPES: Final = '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>'
_MB: Final = b" " * (1 << 20)


def _xlsx(megabytes: int, cell: str = "A1") -> bytes:
    """A spreadsheet whose only sheet is a row and very many blanks."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr("[Content_Types].xml", _TYPES)
        archive.writestr("xl/workbook.xml", "<workbook/>")
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            sheet.write(f'<worksheet><sheetData><row><c r="{cell}"><v>1</v></c></row>'.encode())
            for _ in range(megabytes):
                sheet.write(_MB)
            sheet.write(b"</sheetData></worksheet>")
    return packed.getvalue()


def _lying(honest: bytes) -> bytes:
    """The same, but its list says that everything in it is small."""
    text = bytearray(honest)
    place = -1
    while (place := text.find(b"PK\x01\x02", place + 1)) >= 0:
        text[place + 24 : place + 28] = struct.pack("<I", 1_000)
    return bytes(text)


def _ods(repeated: int, entities: int = 0) -> bytes:
    """A spreadsheet of one row that is said to be repeated, or of a word that stands for very many."""
    names = [f'<!ENTITY e{number} "{f"&e{number - 1};" * 10}">' for number in range(1, entities)]
    document = f"<!DOCTYPE d [<!ENTITY e0 'lol'>{''.join(names)}]>" if entities else ""
    word = f"&e{entities - 1};" if entities else "1"
    content = (
        f'<?xml version="1.0"?>{document}<d xmlns:table="t" xmlns:office="o"><table:table>'
        f'<table:table-row table:number-rows-repeated="{repeated}"><table:table-cell office:value-type="float" '
        f'table:number-columns-repeated="{repeated}">{word}</table:table-cell></table:table-row></table:table></d>'
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
    return packed.getvalue()


def _many_entries() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for number in range(20_000):
            archive.writestr(f"xl/worksheets/sheet{number}.xml", "")
    return packed.getvalue()


BOMBS: Final = {
    "a gigabyte of blanks.xlsx": lambda: _xlsx(1_000),
    "a list that lies.xlsx": lambda: _lying(_xlsx(600)),
    "one cell at the far end.xlsx": lambda: _xlsx(1, "XFD1048576"),
    "a row a million times.ods": lambda: _ods(1_000_000),
    "a word for a billion.ods": lambda: _ods(1, entities=12),
    "twenty thousand sheets.xlsx": _many_entries,
}
