"""What ``pullbook engine check`` prints."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.firing import intervals
from pullbook.engine.network_ends import Side
from pullbook.quantities.showing import UnitSystem, show
from pullbook.quantities.units import UNITS, Dimension

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from pullbook.app.check_engine import CheckedEngine
    from pullbook.engine.network import Network
    from pullbook.engine.parts import EngineSpec

__all__ = ["engine_as_json", "print_engine"]


def print_engine(checked: CheckedEngine, system: UnitSystem) -> None:
    """Print what an engine file declares, what is unusual and what is assumed."""
    spec = checked.spec
    print(spec.block.name)
    for line in (*_block(spec, system), *_cams(checked), *_pipes(checked.network, system)):
        print(f"  {line}")
    print()
    if spec.unusual:
        print(_counted(len(spec.unusual), "number is out of the usual range:", "numbers are out of the usual range:"))
        _print_table(
            ("key", "value", "usual", "what it is"),
            [(one.key, one.value, one.usual, one.says) for one in spec.unusual],
        )
    else:
        print("Every number is inside its usual range.")
    print()
    if checked.remarks:
        print("Remarks:")
        for remark in checked.remarks:
            print(f"  {remark}")
        print()
    if spec.assumed:
        print(_counted(len(spec.assumed), "value is not in the file and is assumed:",
                       "values are not in the file and are assumed:"))  # fmt: skip
        _print_table(("key", "value", "why"), [(one.key, one.value, one.why) for one in spec.assumed])
    else:
        print("Nothing had to be assumed.")


def engine_as_json(checked: CheckedEngine) -> dict[str, object]:
    """What an engine file declares, for a program."""
    spec, network = checked.spec, checked.network
    return {
        "schema": "pullbook.engine_check/1",
        "name": spec.block.name,
        "cylinders": spec.block.cylinders,
        "displacement": {"unit": "m3", "value": spec.block.displacement},
        "firing_order": list(spec.block.firing_order),
        "firing_angles_deg": list(spec.block.firing_angles_deg),
        "events_deg": {
            str(one.side): {"opens": one.opens_deg, "closes": one.closes_deg} for one in network.cylinders[0].valve_sets
        },
        "pipes": [
            {"name": pipe.name, "side": str(pipe.side), "stations": {"unit": "m", "values": pipe.stations}}
            for pipe in network.pipes
        ],
        "unusual": [asdict(one) for one in spec.unusual],
        "remarks": list(checked.remarks),
        "assumed": [asdict(one) for one in spec.assumed],
    }


def _block(spec: EngineSpec, system: UnitSystem) -> Iterator[str]:
    block = spec.block
    bore, stroke = (show(length, Dimension.LENGTH, system, decimals=_decimals(system)) for length in
                    (block.bore, block.stroke))  # fmt: skip
    order = "-".join(str(number) for number in block.firing_order)
    size = show(block.displacement, Dimension.VOLUME, system)
    yield (f"{_counted(block.cylinders, 'cylinder', 'cylinders')} of {bore} by {stroke}, {size}, compression "
           f"{block.compression_ratio:g} to 1")  # fmt: skip
    if block.cylinders > 1:
        yield f"fires {order}; {_firing(block.firing_angles_deg)}"
        banks = dict.fromkeys(block.banks)
        for bank in banks if len(banks) > 1 else ():
            angles = [angle for angle, name in zip(block.firing_angles_deg, block.banks, strict=True) if name == bank]
            yield f"bank {bank}: {_firing(angles)}"
    speed = mean_piston_speed(block.stroke, block.highest_speed_rpm)
    fast = show(speed, UNITS["m/s"]) if system is UnitSystem.METRIC else f"{speed / 0.00508:,.0f} ft/min"
    yield f"mean piston speed {fast} at {block.highest_speed_rpm:,.0f} rpm"


def _firing(angles: Iterable[float]) -> str:
    between = intervals(list(angles))
    if max(between) - min(between) < 1e-6:
        return f"evenly, {between[0]:g}° apart"
    return f"{' '.join(f'{angle:g}°' for angle in between)} apart"


def _cams(checked: CheckedEngine) -> Iterator[str]:
    """Events as cam cards tell them, from the lift that the valves have."""
    for one in checked.network.cylinders[0].valve_sets:
        if one.side is Side.INTAKE:
            opens, closes = 360.0 - one.opens_deg, one.closes_deg - 540.0
            told = f"opens {_beside(opens, 'before', 'top')}, closes {_beside(closes, 'after', 'bottom')}"
        else:
            opens, closes = 180.0 - one.opens_deg, one.closes_deg - 360.0
            told = f"opens {_beside(opens, 'before', 'bottom')}, closes {_beside(closes, 'after', 'top')}"
        yield f"{one.side} valves: {told}; open for {one.closes_deg - one.opens_deg:g}° off their seats"


def _beside(angle: float, side: str, centre: str) -> str:
    other = {"before": "after", "after": "before"}[side]
    return f"{abs(angle):g}° {side if angle >= 0.0 else other} {centre}"


def _pipes(network: Network, system: UnitSystem) -> Iterator[str]:
    length = show(sum(pipe.length for pipe in network.pipes), UNITS["m" if system is UnitSystem.METRIC else "ft"])
    parts = [_counted(len(network.pipes), "pipe", "pipes"), _counted(len(network.joins), "join", "joins"),
             _counted(len(network.volumes) - len(network.perforates), "volume", "volumes")]  # fmt: skip
    yield f"{', '.join(parts)}; {length} of pipe in all"


def _decimals(system: UnitSystem) -> int:
    return 1 if system is UnitSystem.METRIC else 3


def _counted(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def _print_table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    widths = [max(len(row[column]) for row in (head, *rows)) for column in range(len(head) - 1)]
    for row in (head, *rows):
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        print("  " + "  ".join([*cells, row[-1]]).rstrip())
