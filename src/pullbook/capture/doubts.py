"""Doubts, collected cell by cell and said once: one sentence for each reason, with the rows it is about."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Doubts", "name_rows"]

_SHOWN = 6


def name_rows(rows: list[int], total: int | None = None) -> str:
    """Rows in words, the first few by number.

    Examples
    --------
    >>> name_rows([4]), name_rows([4, 9]), name_rows([1, 2, 3, 4, 5, 6], 41)
    ('row 4', 'rows 4 and 9', 'rows 1, 2, 3, 4, 5, 6 and 35 more')
    """
    count = len(rows) if total is None else total
    shown = [str(row) for row in rows[:_SHOWN]]
    if count == 1:
        return f"row {shown[0]}"
    if count > len(shown):
        return f"rows {', '.join(shown)} and {count - len(shown)} more"
    return f"rows {', '.join(shown[:-1])} and {shown[-1]}"


@dataclass(slots=True)
class Doubts:
    """What had to be guessed or left out in one table.

    Attributes
    ----------
    sentences : list of str
        Reasons that are about no particular row.
    """

    sentences: list[str] = field(default_factory=list)
    _rows: dict[str, tuple[list[int], list[int]]] = field(default_factory=dict)

    def say(self, sentence: str) -> None:
        """Keep a sentence, once."""
        if sentence not in self.sentences:
            self.sentences.append(sentence)

    def about(self, reason: str, row: int, count: int = 1) -> None:
        """Keep a row for a reason that reads on after "row 12: "."""
        rows, total = self._rows.setdefault(reason, ([], [0]))
        if len(rows) < _SHOWN:
            rows.append(row)
        total[0] += count

    def count(self, reason: str) -> int:
        """How many rows a reason is about."""
        return self._rows[reason][1][0] if reason in self._rows else 0

    def said(self) -> tuple[str, ...]:
        """All sentences, in the order of their first reason."""
        about_rows = [f"{name_rows(rows, total[0])}: {reason}" for reason, (rows, total) in self._rows.items()]
        return (*self.sentences, *about_rows)
