"""The ``[plan]`` table of a session file: what changes and pulls cost, and what is known of the bench."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.capture.session_file_keys import KEYS
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.toml_table import Bounds
from pullbook.quantities.units import UNITS, Dimension
from pullbook.records.plan_terms import NO_TERMS, PlanTerms

if TYPE_CHECKING:
    from pullbook.quantities.toml_table import TomlTable

__all__ = ["parse_plan"]

_WAIT: Final = Bounds(of=UNITS["h"], low=0.0, high=30 * 24 * 3600.0)
_PULL: Final = Bounds(of=UNITS["min"], low=5.0, high=24 * 3600.0)
_DAY: Final = Bounds(of=UNITS["h"], low=600.0, high=24 * 3600.0)
_TORQUE: Final = Bounds(of=Dimension.TORQUE, low=0.1, high=CHANNELS[Channel.TORQUE].high)
_POWER: Final = Bounds(of=Dimension.POWER, low=10.0, high=CHANNELS[Channel.POWER].high)
_SHARE: Final = Bounds(of=Dimension.RATIO, low=0.0001, high=0.5)
_SCATTER: Final = Bounds(of=Dimension.RATIO, low=0.0, high=0.2)
_LOOK: Final = re.compile(r"([1-9]\d{0,3}) of ([1-9]\d{0,3})")
_PULL_SCATTER: Final = Bounds(of=Dimension.RATIO, low=0.0001, high=0.2)


def parse_plan(top: TomlTable) -> PlanTerms:
    """What the table states; everything in it may be left out."""
    if "plan" not in top:
        return NO_TERMS
    table = top.table("plan", KEYS["plan"])
    scatter = table.table("scatter", KEYS["plan.scatter"])
    resolve = _stated(table, "resolve", Dimension.RATIO, _SHARE)
    looks, planned = _looks(table)
    return PlanTerms(
        pull=_stated(table, "pull", Dimension.TIME, _PULL),
        warm_up=_stated(table, "warm_up", Dimension.TIME, _WAIT),
        cool_down=_stated(table, "cool_down", Dimension.TIME, _WAIT),
        together=_stated(table, "together", Dimension.TIME, _WAIT),
        day=_stated(table, "day", Dimension.TIME, _DAY),
        mean_torque=_stated(table, "mean_torque", Dimension.TORQUE, _TORQUE),
        peak_power=_stated(table, "peak_power", Dimension.POWER, _POWER),
        resolve=None if resolve is None else 100.0 * resolve,
        scatter={
            key: 100.0 * scatter.quantity(key, Dimension.RATIO, _PULL_SCATTER if key == "pull" else _SCATTER)
            for key in KEYS["plan.scatter"]
            if key in scatter
        },
        looks=looks,
        planned=planned,
    )


def _looks(table: TomlTable) -> tuple[tuple[int, ...], int]:
    """Pulls at each look, and pulls that were planned: the same at all looks, because looks share one error rate."""
    if "looks" not in table:
        return (), 0
    found = [_LOOK.fullmatch(text) for text in table.texts("looks", example='["6 of 12", "9 of 12"]')]
    made = [int(one[1]) for one in found if one is not None]
    planned = {int(one[2]) for one in found if one is not None}
    if len(made) != len(found) or len(planned) != 1 or made != sorted(set(made)):
        table.take(
            table.refusal(
                "looks", "these are no looks on the way: pulls made, rising, of pulls planned, always the same number",
                remedy='write them as ["6 of 12", "9 of 12"]',
            )
        )  # fmt: skip
        return (), 0
    return tuple(made), planned.pop()


def _stated(table: TomlTable, key: str, dimension: Dimension, bounds: Bounds) -> float | None:
    return table.quantity(key, dimension, bounds) if key in table else None
