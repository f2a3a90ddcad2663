"""What an engine file declares, in lines that a person reads: size, firing, cams, pipes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.firing import intervals
from pullbook.engine.network_ends import Side
from pullbook.quantities.showing import UnitSystem, show
from pullbook.quantities.units import UNITS, Dimension

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from pullbook.engine.network import Network
    from pullbook.engine.parts import EngineSpec

__all__ = ["counted", "engine_words"]


def engine_words(spec: EngineSpec, network: Network, system: UnitSystem) -> tuple[str, ...]:
    """Lines about an engine.

    Parameters
    ----------
    spec : EngineSpec
        Its parts.
    network : Network
        Its pipes.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        Cylinders and size, firing, piston speed, cams as cam cards tell them, pipes.
    """
    return (*_block(spec, system), *_cams(network), *_pipes(network, system))


def counted(count: int, one: str, many: str) -> str:
    """A number in digits with its noun.

    Examples
    --------
    >>> counted(1, "pipe", "pipes"), counted(2, "pipe", "pipes")
    ('1 pipe', '2 pipes')
    """
    return f"{count} {one if count == 1 else many}"


def _block(spec: EngineSpec, system: UnitSystem) -> Iterator[str]:
    block = spec.block
    bore, stroke = (show(length, Dimension.LENGTH, system, decimals=_decimals(system)) for length in
                    (block.bore, block.stroke))  # fmt: skip
    order = "-".join(str(number) for number in block.firing_order)
    size = show(block.displacement, Dimension.VOLUME, system)
    yield (f"{counted(block.cylinders, 'cylinder', 'cylinders')} of {bore} by {stroke}, {size}, compression "
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


def _cams(network: Network) -> Iterator[str]:
    """Events as cam cards tell them, from the lift that the valves have."""
    for one in network.cylinders[0].valve_sets:
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
    parts = [counted(len(network.pipes), "pipe", "pipes"), counted(len(network.joins), "join", "joins"),
             counted(len(network.volumes) - len(network.perforates), "volume", "volumes")]  # fmt: skip
    yield f"{', '.join(parts)}; {length} of pipe in all"


def _decimals(system: UnitSystem) -> int:
    return 1 if system is UnitSystem.METRIC else 3
