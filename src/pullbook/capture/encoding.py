"""From bytes to characters: byte order mark, then strict UTF-8, then Windows-1252 with a doubt."""

from __future__ import annotations

import codecs
from typing import Final

from pullbook.capture.doubts import name_rows

__all__ = ["Decoder", "decoder_for"]

_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8", "UTF-8 with byte order mark"),
    (codecs.BOM_UTF32_LE, "utf-32-le", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16"),
)
_PIECE: Final = 1 << 20


class Decoder:
    """Bytes of a text in an encoding that keeps ASCII, and what it takes to read a line of it.

    Parameters
    ----------
    data : bytes or memoryview
        The text without byte order mark.
    in_words : str
        Name of the encoding for a reader.
    doubts : tuple of str
        What had to be guessed.
    """

    def __init__(self, data: bytes | memoryview, in_words: str, doubts: tuple[str, ...] = ()) -> None:
        self.data = data
        self._in_words = in_words
        self.doubts = doubts
        self._western: list[int] = []

    @property
    def in_words(self) -> str:
        """Name of the encoding, known for good when the last line has been read."""
        return "Windows-1252" if self._western else self._in_words

    def line(self, line: bytes, row: int | None = None) -> str:
        """Characters of one line; a line that is not UTF-8 is read as Windows-1252, and its row remembered."""
        try:
            return line.decode("utf-8")
        except UnicodeDecodeError:
            if row is not None:
                self._western.append(row)
            return line.decode("cp1252", errors="replace")

    def lines(self, block: bytes) -> list[str]:
        """Characters of all lines of a block."""
        return [self.line(line) for line in block.splitlines()]

    def late_doubts(self) -> tuple[str, ...]:
        """What had to be guessed line by line."""
        if not self._western:
            return ()
        return (f"{name_rows(self._western[:6], len(self._western))}: not UTF-8, read as Windows-1252",)


def decoder_for(data: bytes | memoryview) -> Decoder:
    r"""Decoder for a file.

    Examples
    --------
    >>> bytes(decoder_for("\ufeffrpm".encode("utf-16-le")).data)
    b'rpm'
    """
    start = bytes(data[:4096])
    for mark, encoding, in_words in _MARKS:
        if start.startswith(mark):
            rest = memoryview(data)[len(mark) :]
            return Decoder(rest if encoding == "utf-8" else _transcoded(rest, encoding), in_words)
    guess = _wide_without_mark(start)
    if guess:
        doubt = "no byte order mark, but every second byte is zero: read as UTF-16"
        return Decoder(_transcoded(memoryview(data), guess), "UTF-16", (doubt,))
    return Decoder(data, "ASCII or UTF-8")


def _wide_without_mark(start: bytes) -> str | None:
    half = len(start) // 2
    if half < 8:
        return None
    if start[1::2].count(0) > 0.9 * half and start[::2].count(0) == 0:
        return "utf-16-le"
    return "utf-16-be" if start[::2].count(0) > 0.9 * half and start[1::2].count(0) == 0 else None


def _transcoded(data: memoryview, encoding: str) -> bytes:
    """The text as UTF-8, made piece by piece so that it is never held as characters as a whole."""
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    out = bytearray()
    for start in range(0, len(data), _PIECE):
        out += decoder.decode(bytes(data[start : start + _PIECE])).encode("utf-8", errors="replace")
    out += decoder.decode(b"", final=True).encode("utf-8", errors="replace")
    return bytes(out)
