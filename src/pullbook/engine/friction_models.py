"""Friction of an engine at an operating point, by the model that its file names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.engine.figures import mean_piston_speed
from pullbook.engine.friction import barnes_moss, chen_flynn, component_friction

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.engine.parts import EngineSpec
    from pullbook.engine.parts_running import FrictionModel

__all__ = ["friction_by_pressure", "friction_of", "friction_remark"]

_BARNES_MOSS: Final = "barnes-moss"


def friction_of(spec: EngineSpec) -> Callable[[float, float, float], float]:
    """Friction mean effective pressure of an engine.

    Parameters
    ----------
    spec : EngineSpec
        The engine and its model of friction.

    Returns
    -------
    callable
        From the mean of the peak pressures, the pumping mean effective pressure (negative where pumping costs work)
        and the engine speed. [Pa of Pa, Pa, rpm]

    Notes
    -----
    The formula of Barnes-Moss holds the pumping of a motored engine. What has been computed is taken off it, so that
    pumping does not count twice; friction is nothing where pumping alone is more than the formula.

    Examples
    --------
    >>> from pullbook.engine.engine_file import parse_engine
    >>> round(friction_of(parse_engine(""))(70e5, -0.2e5, 4000.0) / 1e5, 2)
    1.9
    >>> spec = parse_engine('friction = { model = "barnes-moss" }')
    >>> round(friction_of(spec)(70e5, -0.2e5, 4000.0) / 1e5, 2)
    2.17
    """
    model = spec.friction
    geometry = model.geometry

    def by_chen_flynn(peak_pressure: float, _: float, speed_rpm: float) -> float:
        coefficients = (model.constant, model.by_pressure, model.by_speed, model.by_speed_squared)
        piston_speed = mean_piston_speed(spec.block.stroke, speed_rpm)
        return model.factor * chen_flynn(peak_pressure, piston_speed, coefficients)

    def by_barnes_moss(_: float, pumping: float, speed_rpm: float) -> float:
        return max(model.factor * barnes_moss(speed_rpm) + pumping, 0.0)

    if geometry is None:
        return by_barnes_moss if model.model == _BARNES_MOSS else by_chen_flynn

    def by_components(_: float, __: float, speed_rpm: float) -> float:
        return model.factor * component_friction(geometry, speed_rpm).total

    return by_components


def friction_by_pressure(model: FrictionModel) -> float:
    """What friction takes of the peak pressure. [1].

    Parameters
    ----------
    model : FrictionModel
        Model of friction and its coefficients; only that of Chen and Flynn knows of the peak pressure.
    """
    return model.factor * model.by_pressure


def friction_remark(model: FrictionModel) -> str:
    """What has to be known about torque with this friction; empty where nothing has.

    Parameters
    ----------
    model : FrictionModel
        Model of friction.
    """
    if model.model != _BARNES_MOSS:
        return ""
    return (
        "the friction of Barnes-Moss holds pumping, so the pumping that was computed is taken off it: brake torque "
        "does not follow a change of pumping, as by another exhaust; compare such builds with chen-flynn or components"
    )
