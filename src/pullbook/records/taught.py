"""Taught: what earlier sessions let expect of the scatter of a session, small enough to be written beside findings."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.records.codec_numbers import JsonObject

__all__ = ["HISTORY", "NOTHING_TAUGHT", "SOURCES", "Taught", "taught_json"]

HISTORY: Final = "pullbook.history/1"
SOURCES: Final[Mapping[str, str]] = MappingProxyType({
    "pull": "%", "refit": "%", "walk": "% / sqrt(h)", "drift": "%/h", "shape": "%", "length": "rpm",
    "refit_shape": "1",
})  # fmt: skip
"""Sources of scatter and the units of which the logarithms are believed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """Beliefs learnt from earlier sessions.

    Attributes
    ----------
    sessions : int
        How many earlier sessions tell of scatter.
    beliefs : mapping of str to (float, float)
        Location and scale of the logarithm of each of `SOURCES`; empty where the sessions are too few. [log, 1]
    says : tuple of str
        How these sessions were chosen, and what was made of them.
    """

    sessions: int
    beliefs: Mapping[str, tuple[float, float]]
    says: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "beliefs", MappingProxyType(dict(self.beliefs)))


NOTHING_TAUGHT: Final = Taught(sessions=0, beliefs={}, says=())
"""Where nobody was asked."""


def taught_json(taught: Taught) -> JsonObject:
    """What earlier sessions taught, in the form ``pullbook.history/1``.

    Parameters
    ----------
    taught : Taught
        The beliefs.
    """
    return {
        "schema": HISTORY,
        "sessions": taught.sessions,
        "says": list(taught.says),
        "beliefs": {
            name: {"log_of": SOURCES[name], "location": location, "scale": scale}
            for name, (location, scale) in taught.beliefs.items()
        },
    }
