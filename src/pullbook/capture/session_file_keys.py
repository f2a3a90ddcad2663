"""Every key of ``session.toml``, and the words that some of them choose from.

The reference page of the session file is held to this table by a test.
"""

from __future__ import annotations

from typing import Final

from pullbook.quantities.channels import Channel
from pullbook.records.declaration import Standard

__all__ = ["KEYS", "LIMITED", "OBSERVED", "STANDARDS", "TOP"]

OBSERVED: Final = "observed"
LIMITED: Final = tuple(channel for channel in Channel if channel is not Channel.TIME)
TOP: Final = ""
_CHANNELS: Final = tuple(channel.value for channel in Channel)
KEYS: Final[dict[str, tuple[str, ...]]] = {
    TOP: ("session", "engine", "limits", "columns", "plan", "factor", "part", "build", "pull", "claim"),
    "session": ("title", "question", "notes", "date", "dyno", "bench", "standard", "received", "inertia", "rpm",
                "windows", "authors", "licence", "cite"),
    "engine": ("name", "displacement", "induction", "ignition", "strokes", "friction", "mechanical_efficiency",
               "boost_controlled"),
    "engine.friction": ("speed", "power"),
    "limits": tuple(channel.value for channel in LIMITED),
    "columns": _CHANNELS,
    "columns.channel": ("column", "unit"),
    "plan": ("pull", "warm_up", "cool_down", "together", "day", "mean_torque", "peak_power", "resolve", "scatter",
             "looks"),
    "plan.scatter": ("pull", "shape", "refit", "walk", "drift"),
    "factor": ("name", "levels", "change"),
    "part": ("name", "factor", "level", "dimensions"),
    "build": ("name", "label", "baseline", "levels"),
    "pull": ("build", "file", "which", "time", "air", "received", "refitted", "left_out", "columns"),
    "pull.air": ("temperature", "pressure", "humidity"),
    "claim": ("id", "says", "of", "from", "same_as", "quantity", "where", "at_least", "at_most", "within"),
    "claim.same_as": ("of", "from"),
}  # fmt: skip
"""Keys of each table; levels of a build have the names of the factors and dimensions of a part any, so they
are not here."""

STANDARDS: Final[dict[str, Standard]] = {
    **{standard.value: standard for standard in Standard if standard is not Standard.NONE},
    "J1349": Standard.SAE_J1349,
    "J607": Standard.SAE_J607,
    "STP": Standard.SAE_J607,
    "STD": Standard.SAE_J607,
    "UN R85": Standard.ISO_1585,
    "ECE R85": Standard.ISO_1585,
    "UN R85 diesel": Standard.ISO_1585_DIESEL,
    "ISO 3046": Standard.ISO_3046,
    "none": Standard.NONE,
}
"""Names of the correction standards, the short ones in use after the full ones; case and blanks do not matter."""
