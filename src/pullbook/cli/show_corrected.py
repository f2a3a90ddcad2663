"""What ``pullbook correct`` prints: every value met on the way, then the curve."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import shown_unit
from pullbook.quantities.units import Dimension, from_si
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.arrays import FloatArray
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.corrected import CorrectedPull

__all__ = ["corrected_as_json", "print_corrected"]

_STEP_RPM: Final = 250.0
_POWER_PER_TORQUE_RPM: Final = np.pi / 30.0


def print_corrected(corrected: CorrectedPull, system: UnitSystem) -> None:
    """Print the steps, the flags and the curve every 250 rpm."""
    pull = corrected.pull
    print(f"{pull.name} to {corrected.standard}")
    width = max((len(step.name) for step in corrected.steps), default=0)
    for step in corrected.steps:
        print(f"  {step.name:{width}}  {step.value:>12.6g} {step.unit:8} {step.source}")
    for flag in corrected.flags:
        print(f"  flag: {flag}")
    print()
    for line in _curve_lines(corrected, system):
        print(line)


def _curve_lines(corrected: CorrectedPull, system: UnitSystem) -> Iterator[str]:
    relative = corrected.torque_kind is TorqueKind.RELATIVE
    torque_unit, power_unit = shown_unit(Dimension.TORQUE, system), shown_unit(Dimension.POWER, system)
    symbol = "signal" if relative else torque_unit.symbol
    header = f"{'rpm':>6} {'as recorded':>12} {'inertia':>9} {'factor':>8} {'corrected':>10}"
    yield header + ("" if relative else f" {'power':>8}")
    yield f"{'':6} {symbol:>12} {symbol:>9} {'':8} {symbol:>10}" + ("" if relative else f" {power_unit.symbol:>8}")
    for rpm, torque, inertia, factor in _points(corrected):
        observed = torque / factor - inertia
        shown = [value if relative else from_si(value, torque_unit) for value in (observed, inertia, torque)]
        line = f"{rpm:6.0f} {shown[0]:12.2f} {shown[1]:9.2f} {factor:8.5f} {shown[2]:10.2f}"
        yield line + ("" if relative else f" {from_si(torque * rpm * _POWER_PER_TORQUE_RPM, power_unit):8.2f}")


def _points(corrected: CorrectedPull) -> Iterator[tuple[float, float, float, float]]:
    """Median of the samples within 25 rpm of every multiple of 250 rpm; points of a step test as they are."""
    speed = corrected.speed_rpm
    if speed.size <= 40:
        for n in np.argsort(speed, kind="stable"):
            yield (
                float(speed[n]), float(corrected.torque[n]), float(corrected.inertia_torque[n]),
                float(corrected.factor[n]),
            )  # fmt: skip
        return
    for rpm in np.arange(np.ceil(speed.min() / _STEP_RPM), np.floor(speed.max() / _STEP_RPM) + 1) * _STEP_RPM:
        near = np.abs(speed - rpm) <= _STEP_RPM / 10
        if near.any():
            values: tuple[FloatArray, ...] = (corrected.torque, corrected.inertia_torque, corrected.factor)
            torque, inertia, factor = (float(np.median(each[near])) for each in values)
            yield float(rpm), torque, inertia, factor


def corrected_as_json(corrected: CorrectedPull) -> dict[str, object]:
    """Plain data of a corrected pull, every sample of it, in SI and rpm."""
    relative = corrected.torque_kind is TorqueKind.RELATIVE
    observed = corrected.pull.channels.get(Channel.LOAD_SIGNAL if relative else Channel.TORQUE)
    return {
        "schema": "pullbook.corrected/1",
        "pull": corrected.pull.name,
        "sha256": corrected.pull.source.sha256,
        "standard": str(corrected.standard),
        "torque_unit": "signal" if relative else "N m",
        "steps": [
            {"name": step.name, "value": step.value, "unit": step.unit, "source": step.source}
            for step in corrected.steps
        ],
        "flags": list(corrected.flags),
        "row": corrected.rows.tolist(),
        "speed_rpm": corrected.speed_rpm.tolist(),
        "torque": corrected.torque.tolist(),
        "factor": corrected.factor.tolist(),
        "inertia_torque": corrected.inertia_torque.tolist(),
        "samples_in_pull": 0 if observed is None else int(observed.size),
    }
