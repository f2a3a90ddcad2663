"""Tables of a session file as pieces of text: put in, taken out and moved with the remarks that stand on them.

A piece is a table with the comment lines directly above its header, down to its last key and the comments glued to
that. What stands between two pieces (blank lines, headings in comments) belongs to the place, not to the table, and
stays there when tables move.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from pullbook.capture.session_edit_places import place_text
from pullbook.capture.session_file_keys import KEYS, TOP
from pullbook.errors import InputError
from pullbook.quantities.toml_statements import Kind, cut

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.toml_statements import Path, Statement

__all__ = ["Cut", "end_of_line", "insert_chunk", "move_chunk", "remove_chunk", "table_end"]


@dataclass(slots=True)
class Cut:
    """A file in pieces.

    Attributes
    ----------
    gaps : list of str
        What stands before, between and behind the pieces; one more than pieces.
    pieces : list of str
        The tables.
    paths : list of tuple
        Path of each piece: ``("session",)`` or ``("pull", 3)``.
    eol : str
        End of line of the file.
    """

    gaps: list[str]
    pieces: list[str]
    paths: list[Path]
    eol: str

    def joined(self) -> str:
        """The file."""
        text = self.gaps[0]
        for piece, gap in zip(self.pieces, self.gaps[1:], strict=True):
            if text and not text.endswith("\n"):
                text += self.eol
            text += piece
            if gap and not text.endswith("\n"):
                text += self.eol
            text += gap
        return text


def end_of_line(statements: Sequence[Statement]) -> str:
    """How the lines of a file end."""
    return "\r\n" if any(one.text.endswith("\r\n") for one in statements) else "\n"


def table_end(statements: Sequence[Statement], header: int) -> int:
    """Number of the first statement behind a table: past its last key and the comments that are glued to it. [1].

    Parameters
    ----------
    statements : sequence of Statement
        The file.
    header : int
        Number of its header, from 0. [1]
    """
    end = header + 1
    for at in range(header + 1, len(statements)):
        if statements[at].kind is Kind.HEADER:
            break
        if statements[at].kind is Kind.PAIR:
            end = at + 1
    while end < len(statements) and statements[end].kind is Kind.COMMENT:
        end += 1
    if end < len(statements) and statements[end].kind is Kind.HEADER:
        while end > header + 1 and statements[end - 1].kind is Kind.COMMENT:
            end -= 1
    return end


def _pieces(text: str) -> Cut:
    statements = cut(text)
    spans: list[tuple[int, int, Path]] = []
    for at, one in enumerate(statements):
        if one.kind is not Kind.HEADER:
            continue
        entry = one.path[:2] if len(one.path) > 1 and isinstance(one.path[1], int) else one.path[:1]
        if spans and spans[-1][2] == entry:
            spans[-1] = (spans[-1][0], table_end(statements, at), entry)
            continue
        begin = at
        while begin > (spans[-1][1] if spans else 0) and statements[begin - 1].kind is Kind.COMMENT:
            begin -= 1
        spans.append((begin, table_end(statements, at), entry))
    edges = [0, *(edge for begin, end, _ in spans for edge in (begin, end)), len(statements)]
    runs = ["".join(one.text for one in statements[a:b]) for a, b in pairwise(edges)]
    return Cut(gaps=runs[::2], pieces=runs[1::2], paths=[path for *_, path in spans], eol=end_of_line(statements))


def insert_chunk(text: str, kind: str, piece: str, *, before: int = 0) -> str:
    """File with one more table, a blank line away from its neighbours.

    Parameters
    ----------
    text : str
        The file.
    kind : str
        First key of the table, as in ``pull``.
    piece : str
        The table.
    before : int
        Number of the entry that it comes before, from 1; 0 for behind all that come earlier in a session file. [1]

    Returns
    -------
    str
        The file anew.

    Raises
    ------
    InputError
        If there is no such entry.
    """
    parts = _pieces(text)
    piece = piece.replace("\n", parts.eol)
    if before:
        at = _find(parts, (kind, before))
        parts.gaps.insert(at + 1, parts.eol)
    else:
        order = KEYS[TOP]
        rank = order.index(kind)
        early = [at for at, path in enumerate(parts.paths) if path[0] in order[: rank + 1]]
        at = _behind(parts, kind, early)
        parts.gaps[at : at + 1] = _around(parts, at)
    parts.pieces.insert(at, piece)
    parts.paths.insert(at, (kind,))
    return parts.joined()


def _behind(parts: Cut, kind: str, early: Sequence[int]) -> int:
    own = [at for at in early if parts.paths[at][0] == kind]
    return (own[-1] if own else early[-1]) + 1 if early else 0


def _around(parts: Cut, at: int) -> list[str]:
    """Gaps before and behind a new piece, made of the one gap that is there."""
    gap = parts.gaps[at]
    if at == 0:  # nothing that comes earlier: the remarks at the head of the file stay there
        blank = parts.eol if gap.strip() and not _ends_blank(gap) else ""
        return [gap + blank, parts.eol if parts.pieces else ""]
    return [parts.eol, gap if gap.strip() or len(parts.gaps) > at + 1 else ""]


def _ends_blank(gap: str) -> bool:
    return not gap.splitlines()[-1].strip() if gap else True


def _find(parts: Cut, path: Path) -> int:
    if path not in parts.paths:
        raise InputError(
            "there is no such entry", where=f"session.toml: {place_text(path)}", remedy="read the file again"
        )
    return parts.paths.index(path)


def remove_chunk(text: str, path: Path) -> str:
    """File without a table.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The table, as ``("pull", 3)``.

    Returns
    -------
    str
        The file anew.

    Raises
    ------
    InputError
        If there is no such entry.
    """
    parts = _pieces(text)
    at = _find(parts, path)
    before, behind = parts.gaps[at], parts.gaps[at + 1]
    if _ends_blank(before):
        behind = behind.lstrip("\r\n") if before or at == 0 else behind
    if at == len(parts.pieces) - 1 and not behind.strip():
        before, behind = before.rstrip("\r\n") + (parts.eol if before.strip() else ""), ""
    parts.gaps[at : at + 2] = [before + behind]
    del parts.pieces[at], parts.paths[at]
    return parts.joined()


def move_chunk(text: str, path: Path, to: int) -> str:
    """File with an entry of a list at another place among its like.

    Parameters
    ----------
    text : str
        The file.
    path : tuple of (str or int)
        The entry, as ``("pull", 3)``.
    to : int
        Number that it is to have, from 1. [1]

    Returns
    -------
    str
        The file anew.

    Raises
    ------
    InputError
        If there is no such entry or no such place.
    """
    parts = _pieces(text)
    slots = [at for at, other in enumerate(parts.paths) if other[0] == path[0]]
    moved = [parts.pieces[at] for at in slots]
    if not 1 <= to <= len(moved):
        raise InputError("there is no such place in the order", where=f"session.toml: {place_text(path)}",
                         value=str(to), remedy=f"choose one from 1 to {len(moved)}")  # fmt: skip
    moved.insert(to - 1, moved.pop(slots.index(_find(parts, path))))
    for at, piece in zip(slots, moved, strict=True):
        parts.pieces[at] = piece if piece.endswith("\n") else piece + parts.eol
    return parts.joined()
