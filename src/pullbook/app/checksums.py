"""Checksums of a folder in the format that ``sha256sum -c`` checks."""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING, Final

from pullbook.app.folder import inside
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

__all__ = ["DESCRIPTOR", "SUMS", "demand_sums", "named_sums", "sums_text"]

SUMS: Final = "SHA256SUMS"
"""Name of the file of checksums."""
DESCRIPTOR: Final = "datapackage.json"
"""Name of the file by which an exported session is known."""
_LINE: Final = re.compile(r"(\\?)([0-9a-fA-F]{64}) [ *](.+)")
_WRITTEN: Final = {"\\": "\\\\", "\n": "\\n", "\r": "\\r"}
_READ: Final = {written: character for character, written in _WRITTEN.items()}
_ESCAPED: Final = re.compile(r"\\[\\nr]")
_REMEDY: Final = "get the folder anew from where it came; if the change was meant, take SHA256SUMS away first"


def sums_text(files: Mapping[str, bytes]) -> bytes:
    r"""Lines of hash and name, as ``sha256sum`` writes them.

    Parameters
    ----------
    files : mapping of str to bytes
        Content by name.

    Notes
    -----
    A name with a backslash or a line break in it is written with these escaped and a backslash in front of the line,
    as GNU coreutils do (from memory).

    Examples
    --------
    >>> sums_text({"empty.csv": b""}).decode()
    'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  empty.csv\n'
    """
    lines = []
    for name, content in files.items():
        written = "".join(_WRITTEN.get(character, character) for character in name)
        mark = "\\" if written != name else ""
        lines.append(f"{mark}{hashlib.sha256(content).hexdigest()}  {written}\n")
    return "".join(lines).encode()


def named_sums(folder: Path) -> dict[str, str]:
    """Hash by name as the folder's own file of checksums has them; empty where there is none.

    Parameters
    ----------
    folder : Path
        The folder.

    Raises
    ------
    InputError
        If a line of the file is none of a checksum.
    """
    path = folder / SUMS
    if not path.is_file():
        return {}
    found: dict[str, str] = {}
    for number, line in enumerate(path.read_bytes().decode("utf-8", "replace").split("\n"), start=1):
        text = line.removesuffix("\r")
        if not text.strip():
            continue
        parts = _LINE.fullmatch(text)
        if parts is None:
            raise InputError("this is no checksum with the name of a file", where=f"{SUMS}, line {number}",
                             remedy=_REMEDY)  # fmt: skip
        name = _ESCAPED.sub(lambda one: _READ[one[0]], parts[3]) if parts[1] else parts[3]
        found[name.removeprefix("./")] = parts[2].lower()
    return found


def demand_sums(folder: Path, taken: Iterable[str]) -> None:
    """Refuse a folder that is not what its own checksums say; one without checksums is not looked at.

    Parameters
    ----------
    folder : Path
        The session folder.
    taken : iterable of str
        Files that will be taken from it; each needs a checksum where the folder is an exported session.

    Raises
    ------
    InputError
        If a file is not there, or is another one, or has no checksum.
    """
    sums = named_sums(folder)
    for name, sha256 in sums.items():
        path = inside(folder, name)
        if not path.is_file():
            raise InputError("the folder is damaged: the file is not there", where=name, remedy=_REMEDY)
        if _hash(path) != sha256:
            raise InputError("the folder is damaged: the file is not the one that was exported", where=name,
                             value=f"not {sha256[:12]}...", remedy=_REMEDY)  # fmt: skip
    for name in taken if DESCRIPTOR in sums else ():
        if name not in sums:
            raise InputError(f"the file has no checksum in {SUMS}", where=name, remedy=_REMEDY)


def _hash(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
