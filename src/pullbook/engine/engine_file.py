"""``engine.toml`` becomes an `EngineSpec`, or one sentence about the first thing that is wrong in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pullbook.engine.engine_file_block import parse_block, parse_breathing
from pullbook.engine.engine_file_exhaust import parse_exhaust, parse_headers
from pullbook.engine.engine_file_friction import parse_friction
from pullbook.engine.engine_file_intake import parse_intake
from pullbook.engine.engine_file_network import parse_network
from pullbook.engine.engine_file_running import (
    parse_ambient,
    parse_combustion,
    parse_fuel,
    parse_heat,
    parse_spark,
    parse_walls,
)
from pullbook.engine.engine_keys import TOP
from pullbook.engine.network_ends import Side
from pullbook.engine.parts import EngineSpec
from pullbook.engine.sheet import ReadingLog, Sheet
from pullbook.engine.usual import unusual_proportions
from pullbook.errors import EngineFileError
from pullbook.quantities.toml_table import TomlTable
from pullbook.quantities.toml_text import load_toml

if TYPE_CHECKING:
    from pullbook.engine.parts_network import FreeNetwork

__all__ = ["parse_engine"]


def parse_engine(text: str, *, where: str = "engine.toml") -> EngineSpec:
    """Engine that the text of an engine file declares.

    Every quantity is text with its unit; a bare number is refused where a unit is needed. Whatever is not declared is
    assumed and listed in the result. The first thing that is wrong is named by its key path. The reference of every key
    is the page "The engine file" of the documentation.

    Parameters
    ----------
    text : str
        The whole file.
    where : str
        Name of the file, for the message.

    Returns
    -------
    EngineSpec
        What the tester declared, in SI.

    Raises
    ------
    EngineFileError
        If the text is no TOML, a key is unknown or of another type, or the parts contradict each other.
    UnitError
        If a unit is missing, unknown or of another dimension.
    OutOfRangeError
        If a number is beyond what is possible, as a negative length.

    Examples
    --------
    >>> spec = parse_engine('''
    ... [engine]
    ... bore = "86 mm"
    ... stroke = "94.6 mm"
    ... ''')
    >>> round(spec.block.displacement * 1e6), spec.block.firing_order
    (2198, (1, 3, 4, 2))
    >>> spec.assumed[0].key, spec.assumed[0].value
    ('engine.cylinders', '4')
    """
    log = ReadingLog()
    table = TomlTable(load_toml(text, where=where, error=EngineFileError), file=where, path="", known=TOP,
                      error=EngineFileError)  # fmt: skip
    top = Sheet(table, "", "", log)
    block = parse_block(top.child("engine"))
    intake_side = parse_breathing(top, Side.INTAKE, block)
    exhaust_side = parse_breathing(top, Side.EXHAUST, block)
    walls = parse_walls(top.child("walls"))
    network = parse_network(top.child("network"), walls)
    _refuse_twice(top, network)
    quiet = ReadingLog()  # what a free network replaces is not assumed
    intake_top, exhaust_top = (
        Sheet(table, "", "", quiet if side in network.sides else log) for side in (Side.INTAKE, Side.EXHAUST)
    )
    headers = parse_headers(exhaust_top, block, exhaust_side.port)
    spec = EngineSpec(
        block=block,
        intake_side=intake_side,
        exhaust_side=exhaust_side,
        intake=parse_intake(intake_top, block, intake_side.port),
        headers=headers,
        exhaust=parse_exhaust(exhaust_top, headers),
        network=network,
        fuel=parse_fuel(top.child("fuel"), top.child("mixture")),
        spark=parse_spark(top.child("spark")),
        combustion=parse_combustion(top.child("combustion")),
        heat=parse_heat(top.child("heat")),
        friction=parse_friction(top.child("friction"), block, intake_side, exhaust_side),
        walls=walls,
        ambient=parse_ambient(top.child("ambient")),
        assumed=(),
        unusual=(),
    )
    log.refuse_unused()
    assumed = {one.key: one for one in log.assumed}
    unusual = {one.key: one for one in (*log.unusual, *unusual_proportions(spec))}
    return replace(spec, assumed=tuple(assumed.values()), unusual=tuple(unusual.values()))


def _refuse_twice(top: Sheet, network: FreeNetwork) -> None:
    """A side is declared by its shorthand or freely, not both."""
    shorthand = {
        Side.INTAKE: ("intake", "air_box", "throttle", "plenum", "runners"),
        Side.EXHAUST: ("header", "exhaust"),
    }
    for side in sorted(network.sides):
        for key in shorthand[side]:
            if key in top:
                raise EngineFileError(
                    f"the {side} is declared twice: here, and by pipes of [network]", where=top.at(key),
                    remedy=f"leave [{key}] out, or the pipes of the {side} in [network]",
                )  # fmt: skip
