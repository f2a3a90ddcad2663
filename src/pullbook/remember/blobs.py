"""Files in the archive: each kept once under the hash of its bytes, in packed pieces."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import insert, select

from pullbook.errors import FailureError
from pullbook.remember.history import Blob, Piece
from pullbook.remember.packing import pieces as stretches
from pullbook.remember.packing import unpack

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection

__all__ = ["PackedFile", "joined", "keep", "known", "packed", "taken_out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedFile:
    """A file ready to be kept.

    Attributes
    ----------
    sha256 : str
        Hash of its bytes.
    size : int
        Length of the file. [byte]
    pieces : tuple of bytes
        Its stretches, packed.
    """

    sha256: str
    size: int
    pieces: tuple[bytes, ...]


def packed(content: bytes, sha256: str = "") -> PackedFile:
    """File ready to be kept.

    Parameters
    ----------
    content : bytes
        The file.
    sha256 : str
        Hash of its bytes, where it is known.
    """
    return PackedFile(
        sha256=sha256 or hashlib.sha256(content).hexdigest(),
        size=len(content),
        pieces=tuple(stretches(content)),
    )


def known(connection: Connection, hashes: Iterable[str]) -> set[str]:
    """Those of some hashes under which a file is kept already.

    Parameters
    ----------
    connection : Connection
        The archive.
    hashes : iterable of str
        SHA-256, hexadecimal.
    """
    return set(connection.execute(select(Blob.sha256).where(Blob.sha256.in_(list(hashes)))).scalars())


def keep(connection: Connection, files: Iterable[PackedFile]) -> None:
    """Keep files that are not kept yet.

    Parameters
    ----------
    connection : Connection
        The archive, being written.
    files : iterable of PackedFile
        The files; one that is kept already is passed over.
    """
    new = {file.sha256: file for file in files}
    for sha256 in known(connection, new):
        del new[sha256]
    if not new:
        return
    connection.execute(insert(Blob), [{"sha256": file.sha256, "size": file.size} for file in new.values()])
    pieces = [
        {"sha256": file.sha256, "number": number, "content": content}
        for file in new.values()
        for number, content in enumerate(file.pieces)
    ]
    if pieces:
        connection.execute(insert(Piece), pieces)


def taken_out(connection: Connection, sha256: str) -> bytes:
    """File of a hash, compared with it.

    Parameters
    ----------
    connection : Connection
        The archive.
    sha256 : str
        Hash of its bytes.

    Raises
    ------
    FailureError
        If it is not there, or not what it was.
    """
    asked = select(Piece.content).where(Piece.sha256 == sha256).order_by(Piece.number)
    return joined(sha256, connection.execute(asked).scalars())


def joined(sha256: str, packed_pieces: Iterable[bytes]) -> bytes:
    """File of a hash from its packed stretches, compared with it.

    Parameters
    ----------
    sha256 : str
        Hash of its bytes.
    packed_pieces : iterable of bytes
        The stretches in order.

    Raises
    ------
    FailureError
        If it is not what it was.
    """
    try:
        content = b"".join(unpack(piece) for piece in packed_pieces)
    except ValueError as error:
        raise _damaged(sha256, str(error)) from error
    if hashlib.sha256(content).hexdigest() != sha256:
        raise _damaged(sha256, "its hash is another one")
    return content


def _damaged(sha256: str, why: str) -> FailureError:
    return FailureError(
        f"a file in the archive is damaged: {why}", value=sha256[:12],
        remedy="see what is damaged with 'pullbook remember --check'; "
               "remember the session again from its folder, or put a backup in place",
    )  # fmt: skip
