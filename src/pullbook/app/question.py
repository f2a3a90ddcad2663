"""Question: what a reader asks beyond the session file, from the words in which it is asked.

The commands and the notebook take the same words and refuse the same ones.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Question", "asked", "standard_named", "window_of"]

_WINDOW: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:\.\.|-)\s*(\d+(?:\.\d+)?)\s*(?:rpm)?\s*")
_DIGITS: Final = 9  # a speed with more of them is a slip of the hand


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the user asks beyond the session file.

    Attributes
    ----------
    of, from_ : str
        A pair of builds; empty for every build from the baseline.
    windows : tuple of (float, float)
        Windows asked for. [rpm]
    without_bands : bool
        Curves are wanted even where no doubt can be stated.
    system : UnitSystem
        Units of sentences.
    standard : Standard or None
        Standard to correct to instead of that of the session file.
    mark : str
        What stands before the name of a part of it in a message, as "--" where it came in options.
    """

    of: str = ""
    from_: str = ""
    windows: tuple[tuple[float, float], ...] = ()
    without_bands: bool = False
    system: UnitSystem = UnitSystem.METRIC
    standard: Standard | None = None
    mark: str = ""


def window_of(text: str, where: str) -> tuple[float, float]:
    """Ends of a range of speed as it is asked for, as in "2500..3500". [rpm].

    Parameters
    ----------
    text : str
        The words.
    where : str
        Option or field, for the message.

    Raises
    ------
    InputError
        If they are no range, or an empty one.

    Examples
    --------
    >>> window_of("2500..3500 rpm", "--window")
    (2500.0, 3500.0)
    """
    found = _WINDOW.fullmatch(text)
    if found is None or max(len(found[1]), len(found[2])) > _DIGITS:
        raise InputError("this is no range of speed", where=where, value=text, remedy="write for example 2500..3500")
    low, high = float(found[1]), float(found[2])
    if not low < high:
        raise InputError("the range is empty", where=where, value=text, remedy="write the lower end first")
    return low, high


def standard_named(text: str, where: str) -> Standard:
    """Correction standard by its name, whatever the case and blanks.

    Parameters
    ----------
    text : str
        The name.
    where : str
        Option or field, for the message.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    plain = {re.sub(r"[\s_-]", "", standard).lower(): standard for standard in Standard}
    plain["observed"] = Standard.NONE
    key = re.sub(r"[\s_-]", "", text).lower()
    if key in plain:
        return plain[key]
    near = get_close_matches(key, plain, n=1, cutoff=0.4)
    hint = f"did you mean '{plain[near[0]]}'? " if near else ""
    known = ", ".join(f"'{standard}'" for standard in Standard)
    raise InputError("this standard is unknown", where=where, value=text, remedy=f"{hint}write one of {known}")


def asked(
    system: UnitSystem = UnitSystem.METRIC, windows: Sequence[str] = (), *, pair: tuple[str, str] = ("", ""),
    standard: str = "", without_bands: bool = False, mark: str = "--",
) -> Question:  # fmt: skip
    """Question in the words of options or of an address.

    Parameters
    ----------
    system : UnitSystem
        Units of sentences.
    windows : sequence of str
        Ranges of speed, as in "2500..3500".
    pair : tuple of (str, str)
        Builds, of and from; empty for all.
    standard : str
        Name of a standard; empty for that of the session file.
    without_bands : bool
        Curves are wanted even where no doubt can be stated.
    mark : str
        What stands before the name of an option in a message.

    Raises
    ------
    InputError
        If a window or the standard is none.
    """
    return Question(
        of=pair[0],
        from_=pair[1],
        windows=tuple(window_of(text, f"{mark}window") for text in windows),
        without_bands=without_bands,
        system=system,
        standard=standard_named(standard, f"{mark}standard") if standard else None,
        mark=mark,
    )
