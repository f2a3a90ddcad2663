"""EngineSpec: everything an engine file declares, with every default filled in and named."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pullbook.engine.network_ends import Side
    from pullbook.engine.parts_block import Block, Cam, Port, Valves
    from pullbook.engine.parts_network import FreeNetwork
    from pullbook.engine.parts_pipes import Exhaust, Header, Intake
    from pullbook.engine.parts_running import Ambient, Combustion, FrictionModel, FuelSupply, Heat, Spark, Walls

__all__ = ["Assumed", "Breathing", "EngineSpec", "Unusual"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """A value that the file does not declare.

    Attributes
    ----------
    key : str
        Key path, as in "runners.length".
    value : str
        Value with its unit.
    why : str
        Where it comes from.
    """

    key: str
    value: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unusual:
    """A number outside its usual range.

    Attributes
    ----------
    key : str
        Key path, or what was made of several keys.
    value : str
        Value with its unit.
    usual : str
        Usual range with its unit.
    says : str
        What it is.
    """

    key: str
    value: str
    usual: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Breathing:
    """Valve train and port of one side.

    Attributes
    ----------
    side : Side
        Intake or exhaust.
    cam : Cam
        Lobe.
    valves : Valves
        Valves.
    port : Port
        Port.
    """

    side: Side
    cam: Cam
    valves: Valves
    port: Port


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineSpec:
    """What an engine file declares.

    Attributes
    ----------
    block : Block
        Cylinders and crank.
    intake_side, exhaust_side : Breathing
        Camshafts, valves, ports.
    intake : Intake
        From the open air to the flange of the head.
    headers : tuple of Header
        From the flange of the head to the collectors.
    exhaust : Exhaust
        What follows.
    network : FreeNetwork
        Freely declared pipes; they replace the shorthand of their side.
    fuel : FuelSupply
        Fuel and mixture.
    spark : Spark
        Ignition.
    combustion : Combustion
        Burning.
    heat : Heat
        Heat to the walls of the cylinder.
    friction : FrictionModel
        Friction.
    walls : Walls
        Temperatures of walls.
    ambient : Ambient
        Air outside.
    assumed : tuple of Assumed
        Every default that was used.
    unusual : tuple of Unusual
        Every number outside its usual range.
    """

    block: Block
    intake_side: Breathing
    exhaust_side: Breathing
    intake: Intake
    headers: tuple[Header, ...]
    exhaust: Exhaust
    network: FreeNetwork
    fuel: FuelSupply
    spark: Spark
    combustion: Combustion
    heat: Heat
    friction: FrictionModel
    walls: Walls
    ambient: Ambient
    assumed: tuple[Assumed, ...]
    unusual: tuple[Unusual, ...]
