"""Everything of a running engine that the kernels read and write, beside the pipes themselves.

An *end* is the end of a pipe: end ``2 k`` is the left one of pipe ``k`` and ``2 k + 1`` the right one. Speeds and
fluxes at ends are positive out of the pipe. Angles are of the crank, in rad; the own angle of a cylinder is zero at its
top dead centre of firing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.gas.silencer import Chambers
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["Cylinders", "Ends", "EngineArrays", "Joins", "Trace", "Valves", "Volumes"]

# What an end is fixed to.
CLOSED: Final = 0
OPEN: Final = 1
ANECHOIC: Final = 2
VOLUME: Final = 3  # `Ends.other` is the volume
VALVE: Final = 4  # `Ends.other` is the valve
JOINED: Final = 5

# Rows of Volumes.settings.
CONTENT: Final = 0  # m3
WALL: Final = 1  # K
CONDUCTANCE: Final = 2  # to the wall, W/K
LAST_TEMPERATURE: Final = 3  # start of the next search, K
OPENING: Final = 4  # area of all ends at the volume, m2
GAINED_MASS: Final = 5  # in the last step, kg
GAINED_ENERGY: Final = 6  # likewise, J
LAST_STEP: Final = 7  # duration of the last step; 0 before the first, s
SEEN: Final = 8  # what the ends see: pressure, temperature, gas constant, gamma, enthalpy, fractions, SI
VOLUME_ROWS: Final = 15

# Rows of Cylinders.timing.
FIRING: Final = 0  # angle of the engine at top dead centre of firing, rad
BURN_START: Final = 1  # own angle, negative before top dead centre, rad
BURN_DURATION: Final = 2  # rad
BURN_EFFICIENCY: Final = 3  # a of Wiebe
BURN_FORM: Final = 4  # m of Wiebe
EXHAUST_OPENS: Final = 5  # own angle, rad
INTAKE_CLOSES: Final = 6  # own angle, rad
TIMING_ROWS: Final = 7

# Rows of Cylinders.totals, summed over a cycle.
CLOSED_WORK: Final = 0  # from bottom to bottom over firing, J
OPEN_WORK: Final = 1  # the rest, J
WALL_HEAT: Final = 2  # J
RELEASED: Final = 3  # J
EVAPORATED: Final = 4  # heat that fuel took to evaporate, J
# Notes taken when the intake valves close.
TRAPPED_MASS: Final = 5  # kg
TRAPPED_BURNED: Final = 6  # kg
TRAPPED_FUEL: Final = 7  # kg
TOTAL_ROWS: Final = 8

# Columns of Cylinders.start, of the step that is being made.
START_PRESSURE: Final = 0  # Pa
START_VOLUME: Final = 1  # m3
DURATION: Final = 2  # of the step, s
START_TEMPERATURE: Final = 3  # K
START_MASS: Final = 4  # kg
START_BURNED: Final = 5  # fraction, 1
END_VOLUME: Final = 6  # m3
FOLLOWS: Final = 7  # rate at which it takes the pressure of its pipes, 1/s
STEP_COLUMNS: Final = 8

# Rows of Valves.totals, summed over a cycle.
CAME_IN: Final = 0  # into the cylinder, kg
WENT_OUT: Final = 1  # kg
AIR_IN: Final = 2  # net, kg
ENERGY_IN: Final = 3  # net, J
FUEL_IN: Final = 4  # net, kg
VALVE_ROWS: Final = 5


class Ends(NamedTuple):
    """Ends of all pipes.

    Attributes
    ----------
    kind, other : (E,) array of int
        What the end is fixed to, and its index. [1]
    area : (E,) array of float
        Area of the end face. [m2]
    loss : (E, 2) array of float
        Open end: loss coefficients for inflow and outflow. Orifice to a volume: effective area into the pipe and out
        of it. [1 or m2]
    outside : (2, 7) array of float
        Air outside as a reservoir: on the intake side (with its fuel), on the exhaust side. [SI]
    side : (E,) array of int
        0 intake, 1 exhaust. [1]
    inside : (E, 7) array of float
        State at the end face as the pipe brings it. [SI]
    flux : (E, 5) array of float
        Flux of the step: mass, momentum, energy, burned, fuel. [SI]
    total : (E, 5) array of float
        The same, summed over the cycle. [kg, N s, J, kg, kg]
    """

    kind: IntArray
    other: IntArray
    area: FloatArray
    loss: FloatArray
    outside: FloatArray
    side: IntArray
    inside: FloatArray
    flux: FloatArray
    total: FloatArray


class Joins(NamedTuple):
    """Joins of pipes.

    Attributes
    ----------
    first : (J + 1,) array of int
        Where the members of each join begin in `member`. [1]
    member : (M,) array of int
        Ends that meet. [1]
    area : (M,) array of float
        Areas of those ends. [m2]
    square : (J + 1,) array of int
        Where the cosines of each join begin in `cosine`. [1]
    cosine : (sum of n^2,) array of float
        Cosine of the turn from each pipe of a join into each other, row by row. [1]
    model : (J,) array of int
        Loss model. [1]
    warm : (J,) array of float
        Pressure of the merge plane at the last step. [Pa]
    inside : (M, 7) array of float
        Scratch: states at the ends that meet. [SI]
    flux : (M, 5) array of float
        Scratch: fluxes. [SI]
    """

    first: IntArray
    member: IntArray
    area: FloatArray
    square: IntArray
    cosine: FloatArray
    model: IntArray
    warm: FloatArray
    inside: FloatArray
    flux: FloatArray


class Volumes(NamedTuple):
    """Volumes with one pressure.

    Attributes
    ----------
    state : (4, v) array of float
        Mass, energy, burned mass, fuel mass. [kg, J, kg, kg]
    settings : (15, v) array of float
        Content, wall temperature, conductance to the wall, last temperature, area of the ends, what the last step
        brought and how long it was, and the seven rows that the ends see. [SI]
    heat : (v,) array of float
        Energy received from the wall over the cycle. [J]
    """

    state: FloatArray
    settings: FloatArray
    heat: FloatArray


class Valves(NamedTuple):
    """Valve sets.

    Attributes
    ----------
    cylinder : (V,) array of int
        Cylinder of each. [1]
    intake : (V,) array of int
        1 for intake, 0 for exhaust. [1]
    window : (V, 2) array of float
        Own angles before which and after which it is shut. [rad]
    area_in, area_out : (V, n) array of float
        Effective area for flow into the cylinder and out of it, at equal steps of its own angle over two turns. [m2]
    now : (V, 2) array of float
        Effective areas of the step. [m2]
    latent : float
        Heat that the fuel takes to evaporate when it comes into the cylinder. [J/kg]
    totals : (5, V) array of float
        Sums over the cycle, rows of this module. [kg, J]
    """

    cylinder: IntArray
    intake: IntArray
    window: FloatArray
    area_in: FloatArray
    area_out: FloatArray
    now: FloatArray
    latent: float
    totals: FloatArray


class Cylinders(NamedTuple):
    """Cylinders.

    Attributes
    ----------
    state : (4, c) array of float
        Mass, energy, burned mass, fuel mass. [kg, J, kg, kg]
    settings : (19, c) array of float
        See `pullbook.gas.cylinder`. [rows]
    crank : (c, 8) array of float
        Slider-crank of each, see `pullbook.gas.crank`. [rows]
    timing : (7, c) array of float
        Rows of this module. [rad, 1]
    gained : (4, c) array of float
        What the valves bring in a step. [kg, J, kg, kg]
    reservoir : (c, 7) array of float
        State that the valves see. [SI]
    start : (c, 8) array of float
        What a step begins with and hands to the next, columns of this module. [SI]
    dissociation : (21, 51, 4) array of float
        What dissociation adds to the burned gas, see `pullbook.gas.dissociation`. [SI]
    totals : (8, c) array of float
        Sums and notes of the cycle, rows of this module. [J, kg]
    """

    state: FloatArray
    settings: FloatArray
    crank: FloatArray
    timing: FloatArray
    gained: FloatArray
    reservoir: FloatArray
    start: FloatArray
    dissociation: FloatArray
    totals: FloatArray


class Trace(NamedTuple):
    """What is written down about once each so many degrees.

    Attributes
    ----------
    angle : (n,) array of float
        Crank angle of each sample. [rad]
    cylinder : (c, 4, n) array of float
        Pressure, temperature, mass, burned fraction. [Pa, K, kg, 1]
    end : (E, 3, n) array of float
        Pressure, speed out of the pipe, temperature in the last cell at each end. [Pa, m/s, K]
    cells : (4, m, n) array of float
        Pressure, speed, temperature and burned fraction in all slots; m is 0 where they are not wanted. [Pa, m/s, K, 1]
    """

    angle: FloatArray
    cylinder: FloatArray
    end: FloatArray
    cells: FloatArray


class EngineArrays(NamedTuple):
    """The whole engine.

    Attributes
    ----------
    pipes : Pipes
        Cells. [SI]
    ends : Ends
        Ends of pipes. [SI]
    joins : Joins
        Joins. [SI]
    volumes : Volumes
        Volumes. [SI]
    valves : Valves
        Valves. [SI]
    cylinders : Cylinders
        Cylinders. [SI]
    chambers : Chambers
        Side volumes of silencers. [SI]
    """

    pipes: Pipes
    ends: Ends
    joins: Joins
    volumes: Volumes
    valves: Valves
    cylinders: Cylinders
    chambers: Chambers
