"""Curves, gains and effects as findings.json writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from pullbook.records.codec_numbers import band, interval, number, peak
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.records.build import Build
    from pullbook.records.codec_numbers import JsonObject
    from pullbook.records.effect import Effect, Interaction
    from pullbook.records.finding import BuildFinding, Difference, Findings
    from pullbook.records.window import WindowGain

__all__ = ["WrittenUnits", "build_json", "difference_json", "effect_json", "interaction_json", "units_of"]

_KW: Final = 1000.0


class WrittenUnits(NamedTuple):
    """Unit of torque as written, and whether there is power at all."""

    torque: str
    has_power: bool


def units_of(findings: Findings) -> WrittenUnits:
    """Units of findings: N m with power, or per cent of the baseline without.

    Parameters
    ----------
    findings : Findings
        Findings.
    """
    if findings.torque_kind is TorqueKind.RELATIVE:
        return WrittenUnits(torque="%", has_power=False)
    return WrittenUnits(torque="N m", has_power=True)


def build_json(finding: BuildFinding, declared: Build | None, units: WrittenUnits) -> JsonObject:
    """Mean curves and peaks of one build.

    Parameters
    ----------
    finding : BuildFinding
        What was found.
    declared : Build or None
        What the session says of it.
    units : WrittenUnits
        Units.
    """
    return {
        "name": finding.name,
        "label": declared.label if declared else "",
        "levels": dict(declared.levels) if declared else {},
        "pulls": finding.pulls,
        "fittings": finding.fittings,
        "torque": band(finding.torque, units.torque),
        "power": band(finding.power, "kW", _KW),
        "peak_torque": peak(finding.peak_torque, units.torque),
        "peak_power": peak(finding.peak_power, "kW", _KW),
    }


def difference_json(difference: Difference, units: WrittenUnits) -> JsonObject:
    """Gain of one build over another.

    Parameters
    ----------
    difference : Difference
        What was found.
    units : WrittenUnits
        Units.
    """
    places = ("rpm", "low", "high", "zone_low", "zone_high")
    return {
        "of": difference.of,
        "from": difference.from_,
        "torque": band(difference.torque, units.torque),
        "power": band(difference.power, "kW", _KW),
        "percent": band(difference.percent, "%"),
        "crossovers": [
            {**{name: number(getattr(cross, name)) for name in places}, "sign_above": cross.sign_above}
            for cross in difference.crossovers
        ],
        "possible_crossovers": [
            {"low": number(cross.low), "high": number(cross.high)} for cross in difference.possible_crossovers
        ],
        "windows": [_window(window) for window in difference.windows],
        "peak_torque": interval(difference.peak_torque),
        "peak_power": interval(difference.peak_power, _KW),
        "detectable_percent": number(difference.detectable),
    }


def effect_json(effect: Effect, interactions: tuple[Interaction, ...], units: WrittenUnits) -> JsonObject:
    """Effect of one factor; `interaction_with` names the factors that it certainly does not act alone of.

    Parameters
    ----------
    effect : Effect
        What was found.
    interactions : tuple of Interaction
        All interactions.
    units : WrittenUnits
        Units.
    """
    partners = sorted(
        {
            other.with_factor if other.factor == effect.factor else other.factor
            for other in interactions
            if other.differs and effect.factor in {other.factor, other.with_factor}
        }
    )
    return {
        "factor": effect.factor,
        "from": effect.from_level,
        "to": effect.to_level,
        "torque": band(effect.torque, units.torque),
        "power": band(effect.power, "kW", _KW),
        "windows": [_window(window) for window in effect.windows],
        "interaction_with": ", ".join(partners) or None,
        "aliased_with": effect.aliased_with or None,
    }


def interaction_json(interaction: Interaction, units: WrittenUnits) -> JsonObject:
    """Whether a change acts the same at two levels of another factor.

    Parameters
    ----------
    interaction : Interaction
        What was found.
    units : WrittenUnits
        Units.
    """
    return {
        "factor": interaction.factor,
        "from": interaction.from_level,
        "to": interaction.to_level,
        "with": interaction.with_factor,
        "level": interaction.level,
        "other_level": interaction.other_level,
        "torque": band(interaction.torque, units.torque),
        "differs": interaction.differs,
        "differs_from_rpm": number(interaction.differs_from_rpm),
        "differs_to_rpm": number(interaction.differs_to_rpm),
        "smallest_margin": number(interaction.smallest_margin),
    }


def _window(window: WindowGain) -> JsonObject:
    return {
        "from_rpm": number(window.from_rpm),
        "to_rpm": number(window.to_rpm),
        "torque": interval(window.torque),
        "power": interval(window.power, _KW),
        "percent": interval(window.percent),
        "classical": interval(window.classical),
    }
