"""What the virtual engine gives: one operating point, a curve of them, and how far each number can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.reflections import PortReflections

__all__ = ["CylinderPoint", "RunPoint", "RunQuality", "SimulatedCurve"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunQuality:
    """What a reader needs to know whether the third digit of a point means anything.

    Attributes
    ----------
    cell_size : float
        Length that the cells were asked to have. [m]
    cells, steps, cycles : int
        Number of cells, of time steps in the last cycle, and of cycles.
    converged : bool
        Torque, trapped masses and residuals had settled.
    reason : str
        Why not, where they had not.
    torque_change : float
        Change of the mean effective pressure over the last cycle, relative. [1]
    trapped_change : float
        Largest change of the trapped mass of a cylinder over the last cycle, relative. [1]
    residual_change : float
        Largest change of a residual fraction over the last cycle. [1]
    mass_error, energy_error : float
        What the balance of all gas in the engine over the last cycle leaves unexplained, relative to what it holds. [1]
    floors : int
        Times that a density or a pressure had to be kept from becoming negative, in all cycles.
    """

    cell_size: float
    cells: int
    steps: int
    cycles: int
    converged: bool
    reason: str
    torque_change: float
    trapped_change: float
    residual_change: float
    mass_error: float
    energy_error: float
    floors: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderPoint:
    """One cylinder in the last cycle of a point.

    Attributes
    ----------
    number : int
        Number of the trade.
    trapped_mass, fresh_mass, fuel_mass : float
        Gas at the closing of the intake valves; what of it is not burned gas; what of it is fuel. [kg]
    residual : float
        Burned gas of the cycle before, as a fraction of the trapped mass. [1]
    air_mass : float
        Air that came in through the intake valves, net of back-flow. [kg]
    backflow_mass : float
        Gas that was pushed back into the intake. [kg]
    imep_gross, imep_net, pmep : float
        Work of compression and expansion, of the whole cycle, and their difference, by swept volume. [Pa]
    peak_pressure, peak_angle_deg : float
        Highest pressure, and where after top dead centre of firing. [Pa, deg]
    wall_heat : float
        Heat to the walls. [J]
    spark_deg, half_burned_deg : float
        Spark, and half of the charge burned, after top dead centre of firing. [deg]
    knock_integral : float
        Share of the time to self-ignition that the end gas has lived when it burns; knock is likely above 1. [1]
    """

    number: int
    trapped_mass: float
    fresh_mass: float
    fuel_mass: float
    residual: float
    air_mass: float
    backflow_mass: float
    imep_gross: float
    imep_net: float
    pmep: float
    peak_pressure: float
    peak_angle_deg: float
    wall_heat: float
    spark_deg: float
    half_burned_deg: float
    knock_integral: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPoint:
    """The engine at one speed.

    Attributes
    ----------
    speed_rpm : float
        Engine speed. [rpm]
    torque : float
        Brake torque. [N m]
    power : float
        Brake power. [W]
    imep_gross, imep_net, pmep, fmep, bmep : float
        Means over the cylinders: indicated, pumping, friction and brake mean effective pressure. [Pa]
    volumetric_efficiency : float
        Air by swept volume times the density of the air outside. [1]
    air_flow, fuel_flow : float
        Through the engine. [kg/s]
    specific_consumption : float
        Fuel by brake work. [kg/J]
    exhaust_pressure, intake_pressure : float
        Mean pressure behind the exhaust valves and before the intake valves, above the air outside. [Pa]
    exhaust_temperature : float
        Mean temperature of what leaves the exhaust valves, weighted by mass. [K]
    cylinders : tuple of CylinderPoint
        Each cylinder.
    quality : RunQuality
        How far the numbers can be trusted.
    reflections : tuple of PortReflections
        What arrives at each port, and from where; empty where that was not asked for.
    """

    speed_rpm: float
    torque: float
    power: float
    imep_gross: float
    imep_net: float
    pmep: float
    fmep: float
    bmep: float
    volumetric_efficiency: float
    air_flow: float
    fuel_flow: float
    specific_consumption: float
    exhaust_pressure: float
    intake_pressure: float
    exhaust_temperature: float
    cylinders: tuple[CylinderPoint, ...]
    quality: RunQuality
    reflections: tuple[PortReflections, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SimulatedCurve:
    """A full-throttle curve of the virtual engine.

    Attributes
    ----------
    name : str
        Name of the engine.
    points : tuple of RunPoint
        In order of speed; where a run went wrong its point is missing.
    failures : tuple of str
        One sentence for each speed that went wrong.
    grid_error : (n,) array of float
        Estimate of what the size of the cells adds to torque, of either sign, by a second run on a coarser grid; that
        of a difference of two curves is the difference of theirs. NaN where that run was not made. [N m]
    assumed : tuple of str
        What the engine file left open, and what was taken.
    remarks : tuple of str
        What has to be known to read the numbers.
    interrupted : bool
        Somebody ended the work before all speeds were done.
    """

    name: str
    points: tuple[RunPoint, ...]
    failures: tuple[str, ...]
    grid_error: FloatArray
    assumed: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    interrupted: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "grid_error", frozen_floats(self.grid_error))
