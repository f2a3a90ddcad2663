"""Reading of the letters in which half-widths travel, written from their description and not from the code."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.publish.window_codes import Codes

__all__ = ["read_halves", "read_numbers"]

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"


def read_numbers(text: str) -> list[int]:
    """Whole numbers out of letters: five bits in each, the sixth says that more follow, the sign in the lowest."""
    found, value, bits = [], 0, 0
    for letter in text:
        at = LETTERS.index(letter)
        value, bits = value + ((at & 31) << bits), bits + 5
        if not at & 32:
            found.append(-(value >> 1) if value & 1 else value >> 1)
            value, bits = 0, 0
    return found


def read_halves(codes: Codes, ends: int) -> np.ndarray:
    """Half-widths: each is that with the lower end before, changed as the window before it changed, plus a step."""
    steps = iter(read_numbers(codes.text))
    rows = [[0] * ends]
    for low in range(ends - 1):
        above = rows[-1][1:]
        row = [above[0] + next(steps)]
        for place in range(1, ends - 1 - low):
            row.append(above[place] + (row[-1] - above[place - 1]) + next(steps))
        rows.append(row)
    return np.array([value for row in rows[1:] for value in row]) * codes.unit
