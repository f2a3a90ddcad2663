"""From the name that a file gives a column to the channels that it could be."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from pullbook.quantities.channel_names import (
    ARTICLES,
    CORRECTED_WORDS,
    NAMES,
    NEUTRAL_WORDS,
    SHORT_NAMES,
    UNCORRECTED_WORDS,
)
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.units import Dimension, find_unit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pullbook.quantities.units import Unit

__all__ = ["NameMatch", "Treatment", "is_listed", "match_name"]


class Treatment(StrEnum):
    """What a name says about correction to reference air."""

    UNSAID = ""
    CORRECTED = "corrected"
    UNCORRECTED = "uncorrected"


@dataclass(frozen=True, slots=True, kw_only=True)
class NameMatch:
    """What a column name alone says.

    Attributes
    ----------
    channels : tuple of Channel
        Channels that the name can stand for; the unit decides between them.
    unit : str
        Unit that the name itself carries ("speed_rad_s", "HP"); empty where it carries none.
    treatment : Treatment
        Corrected, uncorrected, or not said.
    number : str
        Number that tells siblings apart ("EGT #3"); empty where there is none.
    reason : str
        Why, in words that can follow "because".
    needs_unit : bool
        The name is too short to count without a unit of the right dimension.
    """

    channels: tuple[Channel, ...]
    unit: str = ""
    treatment: Treatment = Treatment.UNSAID
    number: str = ""
    reason: str
    needs_unit: bool = False


_STROKES: Final = str.maketrans({"ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "đ": "d", "\u0131": "i", "æ": "ae", "ß": "ss",
                                 "λ": "lambda", "Λ": "lambda", "ω": "omega"})  # fmt: skip
_SPLIT: Final = re.compile(r"[^0-9A-Za-z%]+")
_PER_MINUTE: Final = re.compile(r"\b1/min\b|\bmin-1\b|\bmin\^-1\b")
_NUMBERED: Final = re.compile(r"\b([a-z]{3,})(\d{1,2})\b")
_SCALED: Final = re.compile(r"[/*x\u00d7]\s*10+\b", re.IGNORECASE)  # "Nm/10": the numbers are not in the unit
_CAMEL: Final = re.compile(r"(?<=[a-z][a-z])(?=[A-Z])")
_BY_DIMENSION: Final = {
    Dimension.SPEED: Channel.SPEED, Dimension.TORQUE: Channel.TORQUE, Dimension.POWER: Channel.POWER,
    Dimension.MIXTURE: Channel.MIXTURE, Dimension.VELOCITY: Channel.VEHICLE_SPEED, Dimension.TIME: Channel.TIME,
}  # fmt: skip
_NO_UNIT_IN_A_NAME: Final = frozenset({"a", "c", "f", "g", "h", "m", "n", "v", "w", "l", "in", "la", "k", "s", "ch"})
_CORRECTED_SHORT: Final = {"chp": "hp", "ctq": "tq", "ctrq": "trq"}
_SELF_NAMED: Final = {
    "hp", "bhp", "whp", "rwhp", "fwhp", "chp", "kw", "ps", "cv", "pk", "nm", "rpm", "mph", "kph", "afr", "lambda",
    "horsepower",
}  # fmt: skip


def _plain(text: str) -> str:
    """ASCII text: accents off, strokes resolved; words of CamelCase apart."""
    text = _PER_MINUTE.sub("rpm", text)
    decomposed = unicodedata.normalize("NFKD", _CAMEL.sub(" ", text.translate(_STROKES)))
    return "".join(c for c in decomposed if not unicodedata.combining(c))


def _words(text: str) -> list[str]:
    """Words in small letters; a number behind a word ("EGT3") is a word of its own."""
    return [word for word in _SPLIT.split(_NUMBERED.sub(r"\1 \2", _plain(text).lower())) if word]


def _key(words: Iterable[str]) -> str:
    return " ".join(sorted(word for word in words if word not in ARTICLES))


def _catalogue() -> dict[str, tuple[Channel, ...]]:
    found: dict[str, tuple[Channel, ...]] = {}
    for channel, names in NAMES.items():
        for name in names:
            key = _key(word for word in _words(name) if not word.isdigit())
            if channel not in found.get(key, ()):
                found[key] = (*found.get(key, ()), channel)
    return found


_KEYS: Final = _catalogue()


def _treatment(words: list[str]) -> tuple[Treatment, list[str]]:
    """What the words say about correction, and the words without it."""
    said = Treatment.UNSAID
    if any(word in _CORRECTED_SHORT for word in words):
        said, words = Treatment.CORRECTED, [_CORRECTED_SHORT.get(word, word) for word in words]
    if any(word in UNCORRECTED_WORDS for word in words) or ("not" in words and "corrected" in words):
        said = Treatment.UNCORRECTED
    elif any(word in CORRECTED_WORDS for word in words):
        said = Treatment.CORRECTED
    return said, [w for w in words if w not in CORRECTED_WORDS and w not in UNCORRECTED_WORDS and w != "not"]


def _known(words: list[str]) -> tuple[tuple[Channel, ...], bool]:
    """Channels of the words, and whether they are a short name that needs a unit."""
    for some in (words, [w for w in words if w not in NEUTRAL_WORDS]):
        channels = _KEYS.get(_key(some), ())
        if channels:
            return channels, False
    short = [w for w in words if w not in NEUTRAL_WORDS or w in SHORT_NAMES]
    return (SHORT_NAMES.get(short[0], ()) if len(short) == 1 else ()), True


def _unit_at_end(words: list[str]) -> tuple[Unit | None, list[str]]:
    """Unit that the last words spell ("speed rad s"), and the words before it."""
    for count in (3, 2, 1):
        tail = words[-count:]
        if len(tail) < count or tail[0] in _NO_UNIT_IN_A_NAME:
            continue
        for text in dict.fromkeys(("/".join(tail), " ".join(tail), "".join(tail))):
            unit = find_unit(text)
            if unit is not None:
                return unit, words[:-count]
    return None, words


def is_listed(name: str) -> bool:
    """Whether a name stands in the catalogue as it is, its unit included.

    Examples
    --------
    >>> is_listed("Engine RPM"), is_listed("Wheel RPM"), is_listed("Torque Nm")
    (True, False, False)
    """
    return _key(_words(name)) in _KEYS


@lru_cache(maxsize=4096)
def match_name(name: str) -> NameMatch | None:
    """Channels that a column name can stand for, or None.

    Examples
    --------
    >>> match_name("Motordrehzahl").channels
    (<Channel.SPEED: 'speed'>,)
    >>> match_name("torque_Nm").unit
    'N m'
    >>> match_name("Target Lambda") is None
    True
    """
    words = _words(name)
    number = "".join(word for word in words if word.isdigit())
    words = [word for word in words if not word.isdigit()]
    treatment, words = (Treatment.UNSAID, words) if _key(words) in _KEYS else _treatment(words)
    if not words:
        return None
    if _SCALED.search(name):
        return _scaled(name, treatment)
    unit = find_unit(words[-1]) if words[-1] in _SELF_NAMED else None
    channels, needs_unit = _known(words)
    reason = f"'{name}' is a name of it"
    if not channels or needs_unit:
        tail_unit, rest = _unit_at_end(words)
        by_tail = () if tail_unit is None else _with_unit(tail_unit, rest)
        if by_tail:
            unit, channels, needs_unit = tail_unit, by_tail, False
            reason = f"the unit is in the name '{name}'"
    if not channels:
        return None
    symbol = "" if unit is None else unit.symbol
    return NameMatch(
        channels=channels, unit=symbol, treatment=treatment, number=number, reason=reason, needs_unit=needs_unit
    )


def _with_unit(unit: Unit, rest: list[str]) -> tuple[Channel, ...]:
    """Channels of a name whose last words are a unit, as far as the unit can be theirs."""
    if all(word in NEUTRAL_WORDS for word in rest):
        channel = _BY_DIMENSION.get(unit.dimension)
        return (channel,) if channel else ()
    channels, _ = _known(rest)
    fits = tuple(c for c in channels if CHANNELS[c].dimension is unit.dimension)
    return channels if unit.dimension is Dimension.VOLTAGE else fits


def _scaled(name: str, treatment: Treatment) -> NameMatch | None:
    """Match of a name with a power of ten in it, which must be part of a known unit ("RPM x1000")."""
    words = [word for word in _words(name) if word not in NEUTRAL_WORDS]
    unit = find_unit(name) or find_unit(" ".join(words))
    channel = None if unit is None else _BY_DIMENSION.get(unit.dimension)
    if unit is None or channel is None:
        return None
    reason = f"the name '{name}' is a unit of {unit.dimension}"
    return NameMatch(channels=(channel,), unit=unit.symbol, treatment=treatment, reason=reason)
