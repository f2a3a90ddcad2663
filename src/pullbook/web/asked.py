"""Asked: what a page or a route asks of a session, in the words of its address."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.app.question import asked
from pullbook.errors import InputError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.question import Question

__all__ = ["LONGEST", "Asked", "asked_in"]

LONGEST: Final = {"standard": 40, "of": 100, "from": 100, "window": 200}
"""How many characters a word of an address may have."""

_REMEDY: Final = "take it out of the address"
_YES: Final = frozenset({"1", "true", "on", "yes", "t", "y"})
_NO: Final = frozenset({"0", "false", "off", "no", "f", "n"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a page or a route asks of a session, as it stands in the address.

    Attributes
    ----------
    units : str
        "metric" or "us".
    standard, of, from_, window : str
        As written; empty where nothing is asked.
    without_bands : bool
        Curves are wanted even where no doubt can be stated.
    """

    units: str = "metric"
    standard: str = ""
    of: str = ""
    from_: str = ""
    window: str = ""
    without_bands: bool = False

    @property
    def question(self) -> Question:
        """The question in records.

        Raises
        ------
        InputError
            If a word of it is none.
        """
        windows = [text for text in self.window.split(",") if text]
        return asked(
            UnitSystem(self.units), windows, pair=(self.of, self.from_), standard=self.standard,
            without_bands=self.without_bands, mark="",
        )  # fmt: skip

    @property
    def parts(self) -> tuple[str, ...]:
        """Everything that the result depends on, for its key."""
        return ("page", *(f"{key}={value}" for key, value in self.plain().items()))

    def plain(self) -> dict[str, object]:
        """The same for a worker and for an address."""
        return {
            "units": self.units,
            "standard": self.standard,
            "of": self.of,
            "from": self.from_,
            "window": self.window,
            "without_bands": self.without_bands,
        }

    def address(self, **changes: str) -> str:
        """Query of an address that asks this, with some words changed; only units where nothing else is asked."""
        from urllib.parse import urlencode

        usual = Asked().plain()
        words = {key: value for key, value in (self.plain() | dict(changes)).items() if value != usual.get(key)}
        pairs = [("units", self.units), *((key, "1" if value is True else str(value))
                 for key, value in words.items() if key != "units" and value)]  # fmt: skip
        return f"?{urlencode(pairs)}"


def asked_in(words: Mapping[str, str]) -> Asked:
    """Question in the words of the address of a page; the routes of scripts declare the same words.

    Parameters
    ----------
    words : mapping of str to str
        The query of the address; words that are none of ours are left alone.

    Raises
    ------
    InputError
        If a word is too long, or none of those that may stand there.

    Examples
    --------
    >>> asked_in({"units": "us", "of": "B", "without_bands": "1"}).plain()["without_bands"]
    True
    >>> asked_in({"units": "parsec"})
    Traceback (most recent call last):
    ...
    pullbook.errors.InputError: units: units are metric or us ('parsec'); take it out of the address.
    """
    for name, most in LONGEST.items():
        if len(value := words.get(name, "")) > most:
            raise InputError(f"at most {most} characters may stand here", where=name, value=value[:80], remedy=_REMEDY)
    units, bands = words.get("units", "metric"), words.get("without_bands", "0")
    if units not in set(UnitSystem):
        raise InputError(f"units are {' or '.join(UnitSystem)}", where="units", value=units[:80], remedy=_REMEDY)
    if bands.lower() not in _YES | _NO:
        raise InputError("this is 1 or 0", where="without_bands", value=bands[:80], remedy=_REMEDY)
    return Asked(
        units=units, standard=words.get("standard", ""), of=words.get("of", ""), from_=words.get("from", ""),
        window=words.get("window", ""), without_bands=bands.lower() in _YES,
    )  # fmt: skip
