"""Friction of an engine as a function of peak pressure and speed, by the model that its file names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.friction import FrictionGeometry, barnes_moss, chen_flynn, component_friction

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.engine.parts import EngineSpec
    from pullbook.engine.parts_running import FrictionModel

__all__ = ["friction_by_pressure", "friction_of"]

# Bearings that an engine file does not declare: usual proportions of petrol engines, common practice, from memory.
_MAIN_DIAMETER: Final = 0.63  # of the bore
_ROD_DIAMETER: Final = 0.55
_BEARING_LENGTH: Final = 0.24


def friction_of(spec: EngineSpec) -> Callable[[float, float], float]:
    """Friction mean effective pressure of an engine.

    Parameters
    ----------
    spec : EngineSpec
        The engine and its model of friction.

    Returns
    -------
    callable
        From the mean of the peak pressures and the engine speed. [Pa of Pa, rpm]

    Examples
    --------
    >>> from pullbook.engine.engine_file import parse_engine
    >>> round(friction_of(parse_engine(""))(70e5, 4000.0) / 1e5, 2)
    1.9
    """
    model = spec.friction

    def by_chen_flynn(peak_pressure: float, speed_rpm: float) -> float:
        coefficients = (model.constant, model.by_pressure, model.by_speed, model.by_speed_squared)
        piston_speed = mean_piston_speed(spec.block.stroke, speed_rpm)
        return model.factor * chen_flynn(peak_pressure, piston_speed, coefficients)

    def by_barnes_moss(_: float, speed_rpm: float) -> float:
        return model.factor * barnes_moss(speed_rpm)

    geometry = _geometry(spec)

    def by_components(_: float, speed_rpm: float) -> float:
        return model.factor * component_friction(geometry, speed_rpm).total

    return {"chen-flynn": by_chen_flynn, "barnes-moss": by_barnes_moss, "components": by_components}[model.model]


def friction_by_pressure(model: FrictionModel) -> float:
    """What friction takes of the peak pressure. [1].

    Parameters
    ----------
    model : FrictionModel
        Model of friction and its coefficients; only that of Chen and Flynn knows of the peak pressure.
    """
    return model.factor * model.by_pressure


def _geometry(spec: EngineSpec) -> FrictionGeometry:
    block = spec.block
    throws = block.cylinders if len(set(block.banks)) == 1 else block.cylinders // 2
    valves = (spec.intake_side.valves.count + spec.exhaust_side.valves.count) * block.cylinders
    return FrictionGeometry(
        bore=block.bore,
        stroke=block.stroke,
        compression_ratio=block.compression_ratio,
        cylinders=block.cylinders,
        main_bearings=throws + 1,
        cam_bearings=throws + 1,
        valves=valves,
        main_diameter=_MAIN_DIAMETER * block.bore,
        main_length=_BEARING_LENGTH * block.bore,
        rod_diameter=_ROD_DIAMETER * block.bore,
        rod_length=_BEARING_LENGTH * block.bore,
        valve_lift=spec.intake_side.cam.lobe_lift * spec.intake_side.cam.rocker_ratio,
    )
