"""Key: what one key of an engine file is, in which unit, what it can be, what is usual, and what is assumed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from pullbook.quantities.units import UNITS, from_si, to_si

if TYPE_CHECKING:
    from pullbook.quantities.units import Dimension, Unit

__all__ = ["Key", "Kind", "said"]


class Kind(StrEnum):
    """What stands behind the equals sign."""

    QUANTITY = "number with a unit"
    NUMBER = "number"
    COUNT = "whole number"
    COUNTS = "list of whole numbers"
    GROUPS = "list of lists of whole numbers"
    ROW = "row of numbers with one unit"
    TEXT = "text"
    TEXTS = "list of texts"
    WORD = "word"
    FLAG = "true or false"
    TABLE = "table"
    TABLES = "tables"


def said(value: float, unit: str) -> str:
    """Number in a unit with four digits at most.

    Parameters
    ----------
    value : float
        The number. [SI unit of the unit's dimension]
    unit : str
        Symbol of the unit; empty for a plain number.

    Returns
    -------
    str
        As in "86 mm".

    Examples
    --------
    >>> said(0.0945, "mm"), said(353.0, "degC"), said(10.5, "")
    ('94.5 mm', '79.85 degC', '10.5')
    """
    return f"{from_si(value, UNITS[unit]):.4g} {unit}" if unit else f"{value:.4g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key.

    Attributes
    ----------
    name : str
        Name in the file.
    kind : Kind
        What stands behind the equals sign.
    says : str
        What it is.
    unit : str
        Unit in which this record writes numbers; the file may use any unit of the same dimension.
    possible : tuple of (float, float) or None
        Range outside which it is refused. [unit]
    usual : tuple of (float, float) or None
        Range outside which `pullbook engine check` points it out. [unit]
    default : float, int, bool, str or None
        What is assumed where it is absent; None where that follows from other keys, or where nothing is assumed.
        [unit]
    why : str
        Why that is assumed, or from what it follows.
    optional : bool
        Nothing is assumed where it is absent.
    words : tuple of str
        Words to choose from.
    """

    name: str
    kind: Kind
    says: str
    unit: str = ""
    possible: tuple[float, float] | None = None
    usual: tuple[float, float] | None = None
    default: float | bool | str | None = None
    why: str = ""
    optional: bool = False
    words: tuple[str, ...] = ()

    @property
    def dimension(self) -> Dimension | None:
        """Dimension of its unit; None for a plain number or a word."""
        return UNITS[self.unit].dimension if self.unit else None

    def in_si(self, number: float) -> float:
        """Number of this record's ranges and defaults in SI. [SI unit of the dimension].

        Parameters
        ----------
        number : float
            The number. [unit of the key]
        """
        return to_si(number, self._unit) if self.unit else number

    def says_range(self, ends: tuple[float, float]) -> str:
        """Range in words, as in "20 to 400 mm".

        Parameters
        ----------
        ends : tuple of (float, float)
            Low and high end. [unit of the key]
        """
        return f"{ends[0]:g} to {ends[1]:g} {self.unit}".strip()

    @property
    def says_default(self) -> str:
        """What is assumed, in words: a value, or from what it follows."""
        if self.default is None:
            return self.why
        if isinstance(self.default, bool):
            return "true" if self.default else "false"
        return f"{self.default:g} {self.unit}".strip() if isinstance(self.default, int | float) else self.default

    @property
    def _unit(self) -> Unit:
        return UNITS[self.unit]
