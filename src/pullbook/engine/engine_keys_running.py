"""Keys of an engine file about fuel, mixture, spark, walls, heat, friction and air.

What is usual is from the trade's practice, from memory.
"""

from __future__ import annotations

from typing import Final

from pullbook.engine.engine_key import Key, Kind
from pullbook.engine.engine_keys_friction import FRICTION_KEYS
from pullbook.gas.fuels import FUELS

__all__ = ["RUNNING_KEYS"]

_Q: Final = Kind.QUANTITY
_N: Final = Kind.NUMBER

_FUEL: Final = (
    Key(name="name", kind=Kind.WORD, words=tuple(FUELS), default="petrol", why="usual", says="Fuel."),
    Key(name="evaporated", kind=_Q, unit="%", says="Share of the fuel whose heat of evaporation cools the charge.",
        possible=(0, 100), usual=(20, 100), default=50.0, why="the rest is taken from the walls"),
    Key(name="octane", kind=_N, says="Research octane number, for the knock estimate.", possible=(60, 130),
        usual=(90, 120), why="95 of petrol and E10; of the others their own"),
    Key(name="motor_octane", kind=_N, says="Motor octane number. The estimate takes the mean of the two.",
        possible=(50, 130), usual=(80, 110),
        why="10 below octane for petrol, E10 and toluene, 18 to 20 for alcohols, none for iso-octane"),
)  # fmt: skip
_SPEED: Final = Key(name="speed", kind=Kind.ROW, unit="rpm", possible=(0, 20000), optional=True,
                    says="Speeds, rising, for rows by speed.")  # fmt: skip
_MIXTURE: Final = (
    _SPEED,
    Key(name="lambda", kind=Kind.ROW, unit="lambda", says="Mixture at each speed, or one for all.",
        possible=(0.5, 2), usual=(0.8, 0.95), default=0.88, why="usual at full throttle"),
)  # fmt: skip
_SPARK: Final = (
    Key(name="mode", kind=Kind.WORD, words=("ca50", "best", "held"), default="ca50", why="close to best torque",
        says="Half of the charge burned at ca50; spark searched for the most torque from the charge of each cylinder; "
        "spark held at advance."),
    _SPEED,
    Key(name="advance", kind=Kind.ROW, unit="deg", says='Spark before top dead centre at each speed; for "held".',
        possible=(-30, 90), usual=(5, 45), default=28.0, why="usual at full throttle"),
    Key(name="ca50", kind=Kind.ROW, unit="deg",
        says='Half burned after top dead centre; for "ca50". Above 10 degrees where the fuel would knock.',
        possible=(-10, 60), usual=(5, 20), default=8.0, why="best torque is there in most engines"),
)  # fmt: skip
_COMBUSTION: Final = (
    Key(name="shape", kind=_N, says="Exponent m of the Wiebe function.", possible=(0.2, 6), usual=(1.5, 3),
        default=2.0, why="Heywood 1988, equation 9.27"),
    Key(name="efficiency", kind=_Q, unit="%", says="Share of the heat that is released where there is air for it.",
        possible=(50, 100), usual=(94, 99), default=97.0, why="crevices and cyclic loss"),
    Key(name="duration", kind=_N, says="Multiplier of the burn duration.", possible=(0.2, 5), usual=(0.7, 1.4),
        default=1.0, why="the correlation as it is"),
)  # fmt: skip
_HEAT: Final = (
    Key(name="model", kind=Kind.WORD, words=("woschni", "annand", "hohenberg"), default="woschni", why="usual",
        says="Correlation of the heat transfer in the cylinder."),
    Key(name="factor", kind=_N, says="Multiplier of it.", possible=(0, 5), usual=(0.7, 1.6), default=1.0,
        why="the correlation as it is"),
)  # fmt: skip


def _wall(name: str, says: str, default: float, usual: tuple[float, float]) -> Key:
    return Key(name=name, kind=_Q, unit="degC", says=says, possible=(-50, 1200), usual=usual, default=default,
               why="a soaked engine at full throttle")  # fmt: skip


_WALLS: Final = (
    _wall("piston", "Crown of the piston.", 270.0, (180, 350)),
    _wall("head", "Combustion chamber in the head.", 220.0, (140, 300)),
    _wall("liner", "Liner.", 150.0, (90, 220)),
    _wall("air_box", "Air box and the pipe into it.", 30.0, (0, 80)),
    _wall("throttle", "Throttle body.", 35.0, (0, 90)),
    _wall("plenum", "Plenum.", 40.0, (0, 100)),
    _wall("runner", "Runners.", 50.0, (0, 110)),
    _wall("intake_port", "Intake ports.", 85.0, (50, 140)),
    _wall("exhaust_port", "Exhaust ports.", 250.0, (120, 400)),
    _wall("primary", "Primaries, and the log.", 550.0, (300, 800)),
    _wall("secondary", "Secondaries and merges.", 520.0, (300, 750)),
    _wall("collector", "Collector, its extension, megaphones.", 480.0, (250, 700)),
    _wall("pipe", "Pipes behind the headers.", 400.0, (150, 650)),
    _wall("silencer", "Silencers.", 350.0, (100, 600)),
    _wall("tailpipe", "Tailpipe.", 300.0, (80, 550)),
    Key(name="balance", kind=Kind.FLAG, says="Whether the walls of exhaust pipes follow an energy balance, the "
        "temperatures above being a first guess.", default=False, why="walls as declared"),
    Key(name="outer_coefficient", kind=_Q, unit="W/m^2/K", says="Heat transfer to the air outside, radiation "
        "included; for the balance.", possible=(1, 1000), usual=(10, 120), default=40.0, why="a fan in a test cell"),
    Key(name="roughness", kind=_Q, unit="mm", says="Roughness of the pipes.", possible=(0, 2), usual=(0.0015, 0.3),
        default=0.03, why="drawn tube, a little sooty"),
    Key(name="friction_factor", kind=_N, says="Multiplier of the friction in all pipes.", possible=(0, 10),
        usual=(0.7, 2), default=1.0, why="the formula as it is"),
    Key(name="heat_factor", kind=_N, says="Multiplier of the heat transfer in all pipes.", possible=(0, 10),
        usual=(0.5, 2), default=1.0, why="the formula as it is"),
)  # fmt: skip
_AMBIENT: Final = (
    Key(name="temperature", kind=_Q, unit="degC", says="Air at the inlet.", possible=(-50, 80), usual=(-10, 45),
        default=25.0, why="reference of SAE J1349 and ISO 1585"),
    Key(name="pressure", kind=_Q, unit="kPa", says="Absolute pressure.", possible=(40, 120), usual=(80, 105),
        default=100.0, why="reference of SAE J1349 and ISO 1585, 99 kPa dry"),
    Key(name="humidity", kind=_Q, unit="%", says="Relative humidity.", possible=(0, 100), usual=(0, 95), default=31.5,
        why="1 kPa of vapour, as the reference has it"),
)  # fmt: skip

RUNNING_KEYS: Final[dict[str, tuple[Key, ...]]] = {
    "fuel": _FUEL,
    "mixture": _MIXTURE,
    "spark": _SPARK,
    "combustion": _COMBUSTION,
    "heat": _HEAT,
    "friction": FRICTION_KEYS,
    "walls": _WALLS,
    "ambient": _AMBIENT,
}
