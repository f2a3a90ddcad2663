"""The ``[friction]`` table of an engine file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.engine.engine_keys_friction import COEFFICIENTS, PARTS
from pullbook.engine.friction import FrictionGeometry
from pullbook.engine.parts_running import FrictionModel

if TYPE_CHECKING:
    from pullbook.engine.parts import Breathing
    from pullbook.engine.parts_block import Block
    from pullbook.engine.sheet import Sheet

__all__ = ["parse_friction"]

_BAR: Final = 1e5
_FORMULAS: Final = {"chen-flynn": COEFFICIENTS, "components": PARTS}
# Bearings that are not declared: usual proportions of petrol engines, common practice, from memory.
_MAIN_DIAMETER: Final = 0.63  # of the bore
_ROD_DIAMETER: Final = 0.55
_BEARING_LENGTH: Final = 0.24


def parse_friction(sheet: Sheet, block: Block, intake: Breathing, exhaust: Breathing) -> FrictionModel:
    """Friction."""
    model = sheet.word("model")
    for other, keys in _FORMULAS.items():
        for key in keys:
            if other != model and key in sheet:
                raise sheet.refusal(key, f"the model '{model}' does not use this",
                                    remedy=f'leave it out, or write model = "{other}"')  # fmt: skip
    numbers = [0.0] * len(COEFFICIENTS)
    if model == "chen-flynn":
        numbers = [sheet.number(key) for key in COEFFICIENTS]
    constant, by_pressure, by_speed, by_square = numbers
    return FrictionModel(
        model=model,
        constant=constant,
        by_pressure=by_pressure,
        by_speed=by_speed * _BAR,
        by_speed_squared=by_square * _BAR,
        factor=sheet.number("factor"),
        geometry=_geometry(sheet, block, intake, exhaust) if model == "components" else None,
    )


def _geometry(sheet: Sheet, block: Block, intake: Breathing, exhaust: Breathing) -> FrictionGeometry:
    """What rubs; what is not declared has the usual proportions."""
    banks = len(set(block.banks))
    throws = block.cylinders if banks == 1 else (block.cylinders + 1) // 2
    each = intake.valves.count + exhaust.valves.count
    train = sheet.word("valve_train", default=_train(intake, exhaust, each))
    in_block = train == "pushrod"
    shafts = banks * (1 if each <= 2 else 2)
    return FrictionGeometry(
        bore=block.bore,
        stroke=block.stroke,
        compression_ratio=block.compression_ratio,
        cylinders=block.cylinders,
        main_bearings=sheet.count("main_bearings", default=throws + 1),
        cam_bearings=sheet.count("cam_bearings", default=throws + 1 if in_block else shafts * (throws + 1)),
        valves=each * block.cylinders,
        main_diameter=sheet.number("main_diameter", default=_MAIN_DIAMETER * block.bore),
        main_length=sheet.number("main_length", default=_BEARING_LENGTH * block.bore),
        rod_diameter=sheet.number("rod_diameter", default=_ROD_DIAMETER * block.bore),
        rod_length=sheet.number("rod_length", default=_BEARING_LENGTH * block.bore),
        valve_lift=intake.cam.valve_lift,
        valvetrain=train,
        roller=sheet.flag("roller"),
        viscosity=sheet.number("oil_viscosity"),
        ring_tension=sheet.number("ring_tension"),
        auxiliaries=sheet.number("auxiliaries"),
    )


def _train(intake: Breathing, exhaust: Breathing, valves: int) -> str:
    if max(intake.cam.rocker_ratio, exhaust.cam.rocker_ratio) <= 1.0:
        return "direct"
    return "pushrod" if valves <= 2 else "end-pivot"
