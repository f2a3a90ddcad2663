"""The tables of an engine file about fuel, mixture, spark, walls, heat, friction and air."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.engine.parts_running import (
    Ambient,
    Combustion,
    FuelSupply,
    Heat,
    Schedule,
    Spark,
    Walls,
)

if TYPE_CHECKING:
    from pullbook.engine.sheet import Sheet

__all__ = ["parse_ambient", "parse_combustion", "parse_fuel", "parse_heat", "parse_spark",
           "parse_walls"]  # fmt: skip

# Research and motor octane numbers of fuels (usual values, from memory); what is left of petrol is its sensitivity.
_OCTANE: Final = {
    "petrol": (95.0, 85.0), "E10": (95.0, 85.0), "iso-octane": (100.0, 100.0), "toluene": (120.0, 110.0),
    "ethanol": (109.0, 90.0), "methanol": (109.0, 89.0), "E85": (107.0, 89.0),
}  # fmt: skip
_INTAKE: Final = ("air_box", "throttle", "plenum", "runner", "intake_port")
_EXHAUST: Final = ("exhaust_port", "primary", "secondary", "collector", "pipe", "silencer", "tailpipe")


def _schedule(sheet: Sheet, key: str) -> Schedule:
    """Row by speed, or one number for all speeds."""
    values = sheet.row(key)
    if key not in sheet or len(values) == 1:
        return Schedule(speed_rpm=(0.0,), values=values[:1])
    speeds = sheet.rising_row("speed")
    if len(speeds) != len(values):
        raise sheet.refusal(key, f"{len(values)} numbers stand against {len(speeds)} speeds",
                            remedy="write one for each of speed, or one alone")  # fmt: skip
    return Schedule(speed_rpm=speeds, values=values)


def parse_fuel(fuel: Sheet, mixture: Sheet) -> FuelSupply:
    """Fuel and mixture."""
    name = fuel.word("name")
    research, motor = _OCTANE[name]
    octane = fuel.number("octane", default=research)
    return FuelSupply(
        name=name,
        evaporated=fuel.number("evaporated"),
        octane=octane,
        motor_octane=_motor_octane(fuel, octane, research - motor),
        mixture=_schedule(mixture, "lambda"),
    )


def _motor_octane(fuel: Sheet, octane: float, sensitivity: float) -> float:
    """Motor octane number, which is not above the research one."""
    found = fuel.number("motor_octane", default=octane - sensitivity)
    if found > octane:
        raise fuel.refusal("motor_octane", f"this is more than the research octane number, {octane:g}",
                           remedy=f"declare {octane:g} or less, or a higher octane")  # fmt: skip
    return found


def parse_spark(sheet: Sheet) -> Spark:
    """Ignition."""
    mode = sheet.word("mode")
    for other, key in (("held", "advance"), ("ca50", "ca50")):
        if key in sheet and mode != other:
            raise sheet.refusal(key, f'this is for mode = "{other}", but the mode is "{mode}"',
                                remedy=f'write mode = "{other}", or leave it out')  # fmt: skip
    # What the mode does not use is not assumed either.
    unused = Schedule(speed_rpm=(0.0,), values=(0.0,))
    return Spark(
        mode=mode,
        advance_deg=_schedule(sheet, "advance") if mode == "held" else unused,
        ca50_deg=_schedule(sheet, "ca50") if mode == "ca50" else unused,
    )


def parse_combustion(sheet: Sheet) -> Combustion:
    """Burning."""
    return Combustion(shape=sheet.number("shape"), efficiency=sheet.number("efficiency"),
                      duration=sheet.number("duration"))  # fmt: skip


def parse_heat(sheet: Sheet) -> Heat:
    """Heat to the walls of the cylinder."""
    return Heat(model=sheet.word("model"), factor=sheet.number("factor"))


def parse_walls(sheet: Sheet) -> Walls:
    """Temperatures of walls, and what the pipes are like inside."""
    balanced = sheet.flag("balance")
    return Walls(
        piston=sheet.number("piston"),
        head=sheet.number("head"),
        liner=sheet.number("liner"),
        intake={key: sheet.number(key) for key in _INTAKE},
        exhaust={key: sheet.number(key) for key in _EXHAUST},
        balanced=balanced,
        outer_coefficient=sheet.number("outer_coefficient"),
        roughness=sheet.number("roughness"),
        friction=sheet.number("friction_factor"),
        heat=sheet.number("heat_factor"),
    )


def parse_ambient(sheet: Sheet) -> Ambient:
    """Air outside."""
    return Ambient(temperature=sheet.number("temperature"), pressure=sheet.number("pressure"),
                   humidity=sheet.number("humidity"))  # fmt: skip
