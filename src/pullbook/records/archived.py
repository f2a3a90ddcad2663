"""What the archive is given of a session: plain data that is kept word for word, and the bytes that belong to it."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, NotRequired, TypedDict

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "ArchivedBuild",
    "ArchivedClaim",
    "ArchivedDimension",
    "ArchivedEngine",
    "ArchivedFactor",
    "ArchivedFile",
    "ArchivedGain",
    "ArchivedPart",
    "ArchivedPull",
    "ArchivedSession",
    "ChannelTable",
    "SessionMemory",
    "Signed",
]


class ArchivedEngine(TypedDict):
    """The engine as the session declares it; displacement in m3."""

    name: str
    displacement: float | None
    induction: str
    ignition: str
    strokes: int


class ArchivedBuild(TypedDict):
    """One set of parts: level of each factor."""

    name: str
    label: str
    baseline: bool
    levels: dict[str, str]


class ArchivedFactor(TypedDict):
    """One thing that is changed, and its levels in order."""

    name: str
    levels: list[str]


class ArchivedPart(TypedDict):
    """A part with a name of its own, and at which level of which factor it is fitted; empty for always."""

    name: str
    factor: str
    level: str


class ArchivedDimension(TypedDict):
    """A number with a unit that belongs to a level, a part or the engine; value in SI."""

    part: str
    factor: str
    level: str
    name: str
    kind: str
    value: float
    written: str


class ArchivedPull(TypedDict):
    """One entry of the run order and what became of it; time in s from the first pull."""

    name: str
    file: str
    build: str
    fitting: int
    time_s: float | None
    used: bool
    because: str


class ArchivedClaim(TypedDict):
    """A claim and its verdict; numbers in `unit`."""

    id: str
    says: str
    verdict: str
    estimate: float | None
    low: float | None
    high: float | None
    unit: str


ArchivedGain = TypedDict(
    "ArchivedGain",
    {
        "of": str,
        "from": str,
        "from_rpm": float,
        "to_rpm": float,
        "torque": "Sequence[float | None]",
        "power": "Sequence[float | None]",
        "percent": "Sequence[float | None]",
    },
)
"""Mean gain over a window of engine speed: value, low and high of torque [N m or %], power [kW], and per cent."""


class ArchivedFile(TypedDict):
    """A file of the session folder by the hash of its bytes."""

    name: str
    sha256: str
    bytes: int


class ArchivedSession(TypedDict):
    """All that is searched, pooled and shown of a session; the archive keeps it as one JSON text."""

    schema: str
    program: str
    title: str
    question: str
    notes: str
    date: str | None
    dyno: str
    bench: NotRequired[str]  # who remembered before benches had names left it out
    standard: str
    torque_kind: str
    baseline: str
    headline: str
    folder: str
    engine: ArchivedEngine
    factors: list[ArchivedFactor]
    builds: list[ArchivedBuild]
    parts: list[ArchivedPart]
    dimensions: list[ArchivedDimension]
    pulls: list[ArchivedPull]
    claims: list[ArchivedClaim]
    gains: list[ArchivedGain]
    files: list[ArchivedFile]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """Who did something, and when.

    Attributes
    ----------
    who : str
        As the machine knows the user.
    at : str
        Moment in UTC, as "2026-05-04T09:12:00Z".
    """

    who: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChannelTable:
    """Channels of one pull as captured.

    Attributes
    ----------
    pull : str
        Name of the pull.
    channels : mapping of str to (n,) array of float
        Values in SI. [SI unit of the channel]
    file : str
        The file that it was read from, as the session names it.
    first_line : int
        Line of the file, from 1, with the first values; the others follow line by line. 0 where they do not.
    """

    pull: str
    channels: Mapping[str, FloatArray]
    file: str = ""
    first_line: int = 0

    def __post_init__(self) -> None:
        from pullbook.quantities.arrays import frozen_floats

        frozen = {name: frozen_floats(values) for name, values in self.channels.items()}
        object.__setattr__(self, "channels", MappingProxyType(frozen))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SessionMemory:
    """A session as it is handed to the archive.

    Attributes
    ----------
    key : str
        SHA-256 over the names and hashes of its files, hexadecimal: the same key is the same session unchanged.
    content : ArchivedSession
        What is searched and shown.
    files : mapping of str to bytes
        Content of every file by its name in the folder, ``session.toml`` first.
    findings : bytes
        The findings as JSON; empty where there are none.
    channels : tuple of ChannelTable
        Channels of the pulls.
    scatter : bytes
        What it says of the sources of scatter, packed; empty where it says nothing.
    evidence : bytes
        Its effects as JSON, for pooling; empty where there are no findings.
    """

    key: str
    content: ArchivedSession
    files: Mapping[str, bytes]
    findings: bytes
    channels: tuple[ChannelTable, ...]
    scatter: bytes = b""
    evidence: bytes = b""
