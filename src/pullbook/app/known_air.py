"""Air of a pull: what the tester declared, else what the head of its file states; channels win over both."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.channels import Channel
from pullbook.quantities.phrases import listed

if TYPE_CHECKING:
    from pullbook.records.declaration import Air
    from pullbook.records.pull import Pull

__all__ = ["known_air"]

_CHANNELS: Final = {
    "temperature": Channel.AIR_TEMPERATURE, "pressure": Channel.AIR_PRESSURE, "humidity": Channel.AIR_HUMIDITY,
}  # fmt: skip


def known_air(declared: Air, pull: Pull) -> tuple[Air, tuple[str, ...]]:
    """Air to correct a pull with, and what has to be said of it.

    Parameters
    ----------
    declared : Air
        As the tester wrote it down.
    pull : Pull
        With the air that its file states outside the table.

    Returns
    -------
    air : Air
        The declared one, filled up from the file.
    said : tuple of str
        One sentence where anything was taken from the head of the file; else none.
    """
    taken = {
        name: stated
        for name, channel in _CHANNELS.items()
        if getattr(declared, name) is None
        and (stated := getattr(pull.air, name)) is not None
        and not np.isfinite(pull.channels.get(channel, np.empty(0))).any()
    }
    if not taken:
        return declared, ()
    names = list(taken)
    say = "is that which" if len(names) == 1 else "are those which"
    return replace(declared, **taken), (f"The {listed(names)} of the air {say} the head of the file states.",)
