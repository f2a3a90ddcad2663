"""Asked: what a page or a route asks of a session, in the words of its address."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.app.question import asked
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.app.question import Question

__all__ = ["Asked"]


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
