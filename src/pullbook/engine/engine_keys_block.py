"""Keys of an engine file about cylinders, camshafts, valves and ports.

What is usual is from the trade's practice (from memory), and from J. B. Heywood, "Internal Combustion Engine
Fundamentals", 1988, sections 2.2 and 6.3 (bore and stroke, valve heads and lifts; from memory).
"""

from __future__ import annotations

from typing import Final

from pullbook.engine.engine_key import Key, Kind

__all__ = ["BLOCK_KEYS"]

_Q: Final = Kind.QUANTITY
_N: Final = Kind.NUMBER

_ENGINE: Final = (
    Key(name="name", kind=Kind.TEXT, says="What you call the engine.", default="engine", why="only a name"),
    Key(name="bore", kind=_Q, unit="mm", says="Bore.", possible=(20, 400), usual=(50, 115), default=86.0,
        why="a usual bore"),
    Key(name="stroke", kind=_Q, unit="mm", says="Stroke.", possible=(15, 500), usual=(45, 115), default=86.0,
        why="a usual stroke"),
    Key(name="rod", kind=_Q, unit="mm", says="Length of the rod between centres.", possible=(20, 1200),
        usual=(75, 220), why="1.65 times the stroke"),
    Key(name="pin_offset", kind=_Q, unit="mm", says="Offset of the piston pin.", possible=(-20, 20), usual=(-2, 2),
        default=0.0, why="pin on the middle line"),
    Key(name="compression_ratio", kind=_N, says="Largest by smallest volume.", possible=(3, 25), usual=(8, 14),
        default=10.5, why="a usual compression ratio"),
    Key(name="cylinders", kind=Kind.COUNT, says="Number of cylinders.", possible=(1, 16),
        why="as many as in firing_order, or 4"),
    Key(name="firing_order", kind=Kind.COUNTS, says="Cylinder numbers in the order in which they fire.",
        why="the usual order of so many cylinders"),
    Key(name="firing_angles", kind=Kind.ROW, unit="deg", says="Crank angle at which each one of the firing order "
        "fires; the first is 0.", possible=(0, 719.999), why="even, or from crank_throws"),
    Key(name="crank_throws", kind=Kind.ROW, unit="deg", says="Angle of each cylinder's crank pin, by cylinder number; "
        "instead of firing_angles.", possible=(-360, 360), optional=True),
    Key(name="cylinder_angles", kind=Kind.ROW, unit="deg", says="Angle of each cylinder's axis, by cylinder number; "
        "with crank_throws.", possible=(-360, 360), optional=True),
    Key(name="banks", kind=Kind.TEXTS, says="Name of the bank of each cylinder, by cylinder number.",
        why="one bank; of eight cylinders, odd numbers left and even ones right"),
    Key(name="piston_area", kind=_N, says="Surface of the piston's crown by the area of the bore.", possible=(0.8, 3),
        usual=(1, 1.3), default=1.05, why="a nearly flat crown"),
    Key(name="head_area", kind=_N, says="Surface of the combustion chamber by the area of the bore.",
        possible=(0.8, 3), usual=(1, 1.7), default=1.3, why="a usual pent roof or wedge"),
    Key(name="highest_speed", kind=_Q, unit="rpm", says="Speed up to which the engine is run; only to judge piston "
        "speed and valves.", possible=(300, 20000), usual=(4500, 12000), default=6500.0, why="a usual limit"),
)  # fmt: skip

_CAMSHAFT: Final = (
    Key(name="lobe_separation", kind=_Q, unit="deg", says="Angle between the lobes' centres, in camshaft degrees.",
        possible=(80, 140), usual=(100, 116), default=110.0, why="a usual separation"),
    Key(name="intake_centreline", kind=_Q, unit="deg", says="Centre of the intake lobe after top dead centre.",
        possible=(60, 180), usual=(96, 122), why="straight up: the lobe separation"),
)  # fmt: skip


def _cam(side: str) -> tuple[Key, ...]:
    intake = side == "intake"
    before = "after" if intake else "before"
    return (
        Key(name="durations", kind=Kind.TABLES, says="Durations at one to four lifts, as in "
            '`{ at = "0.050 in", lasts = "224 deg" }`.', why="268, 224, 137.5 deg at 1.8, 15, 60 % of the lobe's lift"),
        Key(name="durations_at", kind=Kind.WORD, says="Where the lifts of the durations are measured.",
            words=("lobe", "valve"), default="lobe", why="as cam cards do"),
        Key(name="valve_lift", kind=_Q, unit="mm", says="Largest lift of the valve, lash taken up.",
            possible=(1, 30), usual=(7, 16), why="0.3 times the valve's head"),
        Key(name="lobe_lift", kind=_Q, unit="mm", says="Largest lift of the lobe; instead of valve_lift.",
            possible=(0.5, 30), usual=(4, 16), optional=True),
        Key(name="rocker_ratio", kind=_N, says="Valve lift by lobe lift.", possible=(0.5, 3), usual=(1, 1.9),
            default=1.0, why="tappets on the valves"),
        Key(name="lash", kind=_Q, unit="mm", says="Clearance at the valve, warm.", possible=(0, 2), usual=(0, 0.7),
            default=0.0, why="hydraulic tappets"),
        Key(name="centreline", kind=_Q, unit="deg", says=f"Centre of the lobe {before} top dead centre of overlap.",
            possible=(60, 180), usual=(96, 122), why="from [camshaft]"),
        Key(name="advance", kind=_Q, unit="deg", says="Advance of this camshaft from its centreline, in crank degrees.",
            possible=(-60, 60), usual=(-10, 10), default=0.0, why="as installed"),
        Key(name="opens", kind=_Q, unit="deg", says="Opening "
            + ("before top" if intake else "before bottom") + " dead centre at events_at; with closes, instead of a "
            "centreline.", possible=(-90, 150), optional=True),
        Key(name="closes", kind=_Q, unit="deg", says="Closing "
            + ("after bottom" if intake else "after top") + " dead centre at events_at.", possible=(-220, 150),
            optional=True),
        Key(name="events_at", kind=_Q, unit="mm", says="Lift at which opens and closes are measured.",
            possible=(0.02, 10), default=1.0, why="as metric cam cards do"),
        Key(name="angles", kind=Kind.ROW, unit="deg", says="Crank degrees of a measured lift curve, 0 at the centre of "
            "the lobe.", possible=(-360, 360), optional=True),
        Key(name="lifts", kind=Kind.ROW, unit="mm", says="Measured lift at each of the angles.", possible=(0, 30),
            optional=True),
        Key(name="lifts_at", kind=Kind.WORD, says="Where the lift was measured.", words=("valve", "lobe"),
            default="valve", why="with a gauge on the retainer"),
    )  # fmt: skip


_DURATION: Final = (
    Key(name="at", kind=_Q, unit="mm", says="Lift.", possible=(0.02, 20), why="needed"),
    Key(name="lasts", kind=_Q, unit="deg", says="Duration in crank degrees.", possible=(20, 460), usual=(80, 330),
        why="needed"),
)  # fmt: skip


def _valves(head: str, usual: tuple[float, float]) -> tuple[Key, ...]:
    return (
        Key(name="count", kind=Kind.COUNT, says="Valves of this side in each cylinder.", possible=(1, 4), default=2,
            why="four valves a cylinder"),
        Key(name="head", kind=_Q, unit="mm", says="Diameter of one valve's head.", possible=(5, 200), usual=usual,
            why=head),
        Key(name="throat", kind=_Q, unit="mm", says="Diameter of the throat below the seat.", possible=(4, 190),
            usual=(17, 52), why="0.88 times the head"),
        Key(name="stem", kind=_Q, unit="mm", says="Diameter of the stem.", possible=(1, 30), usual=(4, 9.6),
            why="0.18 times the head"),
        Key(name="seat_angle", kind=_Q, unit="deg", says="Angle of the seat.", possible=(10, 70), usual=(30, 50),
            default=45.0, why="a usual seat"),
    )  # fmt: skip


def _port(length: float, flange: str) -> tuple[Key, ...]:
    return (
        Key(name="length", kind=_Q, unit="mm", says="From the flange to the valve seat.", possible=(5, 600),
            usual=(40, 150), default=length, why="a usual port"),
        Key(name="diameter", kind=_Q, unit="mm", says="Diameter of a circle with the area at the flange.",
            possible=(5, 200), usual=(25, 60), why=f"{flange} times the circle of all throats"),
        Key(name="valve_diameter", kind=_Q, unit="mm", says="Diameter of a circle with the area at the valves.",
            possible=(5, 200), usual=(25, 60), why="the circle of all throats"),
        Key(name="bend_loss", kind=_N, says="Loss coefficient K of the bend; what a flow table holds already is not "
            "taken twice.", possible=(0, 5), usual=(0, 0.5), default=0.0, why="mostly in the valve's coefficient"),
        Key(name="flow", kind=Kind.TABLE, says="Flow-bench table.", optional=True,
            why="no flow-bench table is declared"),
    )  # fmt: skip


_FLOW: Final = (
    Key(name="depression", kind=_Q, unit="inH2O", says="Pressure difference of the test.", possible=(0.5, 120),
        usual=(3, 60), default=28.0, why="the trade's usual depression"),
    Key(name="lift", kind=Kind.ROW, unit="mm", says="Valve lifts, rising.", possible=(0, 30), why="needed"),
    Key(name="into", kind=Kind.ROW, unit="cfm", says="Flow into the cylinder at each lift.", possible=(0, 2000),
        optional=True),
    Key(name="out_of", kind=Kind.ROW, unit="cfm", says="Flow out of the cylinder at each lift.", possible=(0, 2000),
        optional=True),
    Key(name="valves", kind=Kind.COUNT, says="Valves that were open in the test.", possible=(1, 4),
        why="all of this side"),
    Key(name="temperature", kind=_Q, unit="degC", says="Air of the bench.", possible=(-20, 60), usual=(10, 35),
        default=20.0, why="a usual room"),
    Key(name="pressure", kind=_Q, unit="kPa", says="Air of the bench, absolute.", possible=(50, 120),
        usual=(85, 105), default=101.325, why="sea level"),
)  # fmt: skip

BLOCK_KEYS: Final[dict[str, tuple[Key, ...]]] = {
    "engine": _ENGINE,
    "camshaft": _CAMSHAFT,
    "intake_cam": _cam("intake"),
    "intake_cam.durations": _DURATION,
    "exhaust_cam": _cam("exhaust"),
    "exhaust_cam.durations": _DURATION,
    "intake_valves": _valves("0.385 times the bore; of a single valve 0.46 times", (20, 58)),
    "intake_port": _port(90.0, "0.97"),
    "intake_port.flow": _FLOW,
    "exhaust_valves": _valves("0.33 times the bore; of a single valve 0.38 times", (17, 50)),
    "exhaust_port": _port(70.0, "1.05"),
    "exhaust_port.flow": _FLOW,
}
