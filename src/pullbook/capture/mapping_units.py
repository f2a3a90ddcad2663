"""Units that a file leaves out: found by the identity, assumed with a stated doubt, or refused."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.capture.mapping_questions import ask_unit, rule_line, usual_units
from pullbook.curves.identity import UnitSet, constant_of, identity_points
from pullbook.errors import MappingError, Way
from pullbook.quantities.channels import Channel
from pullbook.quantities.units import UNITS, Dimension, Unit, to_si

if TYPE_CHECKING:
    from pullbook.capture.mapping_proposals import Proposal
    from pullbook.quantities.arrays import FloatArray

__all__ = ["MISSING_IS_FATAL", "assume", "by_identity", "convert", "refuse_unit"]

MISSING_IS_FATAL: Final = frozenset(
    {Channel.SPEED, Channel.TORQUE, Channel.POWER, Channel.LOAD_SIGNAL, Channel.TRACTIVE_FORCE}
)
# Numbers as written that make one unit the only sensible one: (unit, lowest median, highest median).
# Air, oil and coolant on a bench, and a barometer below 1,500 m; ranges of one channel do not overlap.
_SENSIBLE: Final[dict[Channel, tuple[tuple[str, float, float], ...]]] = {
    Channel.SPEED: (("rpm", 1000.0, 25_000.0),),
    Channel.AIR_PRESSURE: (
        ("inHg", 25.0, 32.0), ("kPa", 84.0, 108.0), ("hPa", 840.0, 1080.0), ("mmHg", 630.0, 800.0),
        ("psi", 12.2, 15.7), ("bar", 0.84, 1.08), ("Pa", 84e3, 108e3),
    ),
    Channel.AIR_TEMPERATURE: (("degC", -10.0, 45.0), ("degF", 46.0, 130.0), ("K", 255.0, 325.0)),
    Channel.FUEL_TEMPERATURE: (("degC", -10.0, 45.0), ("degF", 46.0, 130.0), ("K", 255.0, 325.0)),
    Channel.OIL_TEMPERATURE: (("degC", 30.0, 135.0), ("degF", 136.0, 300.0), ("K", 301.0, 420.0)),
    Channel.COOLANT_TEMPERATURE: (("degC", 30.0, 135.0), ("degF", 136.0, 300.0), ("K", 301.0, 420.0)),
    Channel.EXHAUST_TEMPERATURE: (("degC", 150.0, 980.0), ("degF", 981.0, 1900.0)),
    Channel.AIR_HUMIDITY: (("1", 0.0, 1.0), ("%", 1.5, 100.0)),
    Channel.MIXTURE: (("lambda", 0.5, 2.0), ("AFR", 7.0, 25.0)),
    Channel.MANIFOLD_PRESSURE: (("kPa", 52.0, 350.0), ("bar", 0.15, 3.5)),
    Channel.SPARK: (("deg", -30.0, 80.0),),
    Channel.CORRECTION_FACTOR: (("1", 0.5, 2.0), ("%", 50.0, 200.0)),
    Channel.SWEEP_RATE: (("rpm/s", -3000.0, 3000.0),),
}  # fmt: skip
_PERCENT_ABOVE: Final = 1.5
_LEANEST_LAMBDA: Final = 5.0
_FIT: Final = 0.004
_EXACT: Final = 0.0005  # columns computed from each other agree so; measured ones may be off by more than 0.28 %


def refuse_unit(proposal: Proposal, *, where: str, why: str = "") -> MappingError:
    """Refusal of a column whose unit is not known, with the line for each unit that is usual for it."""
    lines = " or ".join(rule_line(proposal.channel, proposal.column, unit) for unit in usual_units(proposal.channel))
    missing = f"the unit of column '{proposal.column}' is missing"
    what = f"the unit of column '{proposal.column}' is unknown" if proposal.unknown_unit else missing
    return MappingError(
        f"{what}{why}", where=where, value=proposal.unknown_unit,
        remedy=Way.COLUMNS.said(f"put under [columns] in session.toml {lines}"),
        questions=(ask_unit(proposal.channel, proposal.column, f"{what}{why}"),),
    )  # fmt: skip


def assume(proposal: Proposal, values: FloatArray) -> tuple[Unit, str] | None:
    """Unit that is the only sensible one for the numbers, with the doubt that states the assumption."""
    if proposal.unknown_unit:
        return None
    finite = values[np.isfinite(values)]
    if proposal.channel is Channel.TIME:
        return _assume_time(proposal, finite)
    if proposal.channel is Channel.THROTTLE:
        unit = UNITS["%"] if finite.max() > _PERCENT_ABOVE else UNITS["1"]
        return (unit, _assumed(proposal, unit)) if finite.max() <= 110.0 else None
    typical = float(np.max(finite) if proposal.channel is Channel.SPEED else np.median(finite))
    fits = [UNITS[unit] for unit, low, high in _SENSIBLE.get(proposal.channel, ()) if low <= typical <= high]
    return (fits[0], _assumed(proposal, fits[0])) if len(fits) == 1 else None


def _assume_time(proposal: Proposal, finite: FloatArray) -> tuple[Unit, str] | None:
    step = float(np.median(np.diff(finite))) if finite.size > 1 else math.nan
    if 0.0005 <= step <= 2.0:
        return UNITS["s"], _assumed(proposal, UNITS["s"])
    return (UNITS["ms"], _assumed(proposal, UNITS["ms"])) if 2.0 < step <= 1000.0 else None


def _assumed(proposal: Proposal, unit: Unit) -> str:
    what = proposal.channel.value.replace("_", " ")
    symbol = "a fraction" if unit.symbol == "1" else unit.symbol
    return (
        f"column '{proposal.column}' has no unit: {what} was assumed to be in {symbol} from its numbers; "
        f"to settle it, put under [columns] in session.toml {rule_line(proposal.channel, proposal.column, unit.symbol)}"
    )


def by_identity(columns: dict[Channel, FloatArray], units: dict[Channel, Unit | None]) -> tuple[UnitSet, ...]:
    """Units of torque and power that make power torque times speed, where one or both are not known.

    Returns
    -------
    tuple of UnitSet
        Exactly one where the identity decides; several where it cannot tell them apart; empty where none fits.

    Notes
    -----
    Offered are N m, lb ft and kgf m with kW, hp and PS. kW with lb ft (7043.2) and PS with N m (7023.5) are 0.3 %
    apart: both are returned unless one fits to 0.05 %.
    """
    speed_unit = units[Channel.SPEED] or UNITS["rpm"]
    speed_rpm = to_si(columns[Channel.SPEED], speed_unit)
    ratios = identity_points(speed_rpm, columns[Channel.TORQUE], columns[Channel.POWER])
    if ratios.size < 3:
        return ()
    ratio = float(np.median(ratios))
    spread = 1.4826 * float(np.median(np.abs(ratios / ratio - 1.0))) / math.sqrt(ratios.size)
    constant = 30.0 / (math.pi * ratio)
    known_torque, known_power = units[Channel.TORQUE], units[Channel.POWER]
    torques = ("N m", "lb ft", "kgf m") if known_torque is None else (known_torque.symbol,)
    powers = ("kW", "hp", "PS", "W") if known_power is None else (known_power.symbol,)
    sets = [UnitSet(torque=t, power=p) for t in torques for p in powers]
    off = sorted(((abs(constant / constant_of(s.torque, s.power) - 1.0), s) for s in sets), key=lambda pair: pair[0])
    best = off[0][0]
    if best > _FIT:
        return ()
    within = best + max(4.0 * spread, 1e-4) if best <= _EXACT else _FIT
    return tuple(s for distance, s in off if distance <= within)


def convert(proposal: Proposal, values: FloatArray, unit: Unit) -> tuple[FloatArray, Unit, str]:
    """Values in SI, the unit that they were really in, and the doubt where it is not the one stated."""
    finite = values[np.isfinite(values)]
    top = float(finite.max()) if finite.size else math.nan
    better = unit if proposal.ruled else _really(proposal.channel, unit, finite, top)
    if better is unit:
        return to_si(values, unit), unit, ""
    named = {"1": "a fraction", "%": "per cent"}
    doubt = (
        f"column '{proposal.column}' says {unit.symbol}, but its numbers are those of "
        f"{named.get(better.symbol, better.symbol)} (up to {top:.4g}) and were read so; "
        f"to settle it, put under [columns] in session.toml "
        f"{rule_line(proposal.channel, proposal.column, better.symbol)}"
    )
    return to_si(values, better), better, doubt


def _really(channel: Channel, unit: Unit, finite: FloatArray, top: float) -> Unit:
    """Unit that ratios and mixtures really are in: fractions written as per cent, air-fuel ratio written as lambda."""
    if unit.dimension is Dimension.MIXTURE and unit.symbol == "lambda" and float(np.median(finite)) > _LEANEST_LAMBDA:
        return UNITS["AFR"]
    if channel not in {Channel.THROTTLE, Channel.AIR_HUMIDITY}:
        return unit
    if unit.symbol == "%" and 0.0 < top <= 1.05 and float(finite.min()) >= 0.0:
        return UNITS["1"]
    if unit.symbol == "1" and top > _PERCENT_ABOVE:
        return UNITS["%"]
    return unit
