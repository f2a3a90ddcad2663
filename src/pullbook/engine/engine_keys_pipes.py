"""Keys of an engine file about pipes: intake, headers, exhaust, silencers, free networks.

What is usual is from the trade's practice, from memory.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from pullbook.engine.engine_key import Key, Kind

__all__ = ["NETWORK_KEYS", "PIPE_KEYS"]

_Q: Final = Kind.QUANTITY
_N: Final = Kind.NUMBER
_Range = tuple[float, float]
_JOINS: Final = ("mixing", "pressure", "stagnation")


def _mm(name: str, says: str, usual: _Range, default: float | None = None, why: str = "") -> Key:
    """Length or diameter."""
    return Key(name=name, kind=_Q, unit="mm", says=says, possible=(1, 20000), usual=usual, default=default, why=why,
               optional=not why)  # fmt: skip


def _bends(default: float, why: str, usual: _Range = (0, 1.5)) -> Key:
    says = "Sum of the loss coefficients K of the bends (about 0.15 for a smooth bend of 90 degrees)."
    return Key(name="bend_loss", kind=_N, says=says, possible=(0, 20), usual=usual, default=default, why=why)


def _tube(length: Key, diameter: Key, loss: float = 0.0) -> tuple[Key, ...]:
    taper = _mm("end_diameter", "Inner diameter where the flow leaves.", (20, 150), None, "no taper: the diameter")
    return (length, diameter, taper, _bends(loss, "as bends usually are" if loss else "straight"))


_INTAKE: Final = (
    Key(name="layout", kind=Kind.WORD, words=("plenum", "individual"), default="plenum", why="one throttle",
        says="One plenum for all, or a runner with its own throttle for each cylinder."),
)  # fmt: skip
_AIR_BOX: Final = (
    Key(name="volume", kind=_Q, unit="L", says="Content of the air box.", possible=(0.05, 200), usual=(2, 20),
        why="4 times the displacement"),
    _mm("inlet_length", "Length of the pipe into it.", (50, 1000), 300.0, "a usual snorkel"),
    _mm("inlet_diameter", "Inner diameter of that pipe.", (30, 120), None, "that of the throttle"),
    Key(name="bellmouth", kind=Kind.FLAG, says="Whether that pipe begins with a rounded mouth.", default=True,
        why="usual"),
)  # fmt: skip
_THROTTLE: Final = (
    Key(name="count", kind=Kind.COUNT, says="Throttles side by side.", possible=(1, 16), default=1, why="usual"),
    _mm("diameter", "Bore of the throttle.", (25, 110), None,
        "a circle with 1 mm2 for each cm3 of displacement; of individual throttles, the runner's diameter"),
    _mm("length", "Length of the throttle body and the duct before it.", (30, 600), 100.0, "a usual body"),
    Key(name="opening", kind=_Q, unit="%", says="Open share of the area.", possible=(0.1, 100), usual=(100, 100),
        default=100.0, why="full throttle"),
    Key(name="discharge", kind=_N, says="Discharge coefficient of the open area, shaft and blade in it.",
        possible=(0.3, 1), usual=(0.75, 1), default=0.9, why="shaft and blade take a tenth"),
)  # fmt: skip
_PLENUM: Final = (
    Key(name="volume", kind=_Q, unit="L", says="Content of the plenum.", possible=(0.05, 100), usual=(1, 10),
        why="1.5 times the displacement"),
)  # fmt: skip
_RUNNERS: Final = (
    _mm("length", "Length from the mouth to the flange of the head.", (50, 600), 300.0, "a usual runner"),
    Key(name="lengths", kind=Kind.ROW, unit="mm", says="Length of each runner by cylinder number; instead of length.",
        possible=(1, 5000), optional=True),
    _mm("diameter", "Inner diameter at the flange of the head.", (25, 65), None, "that of the port"),
    _mm("mouth_diameter", "Inner diameter at the mouth.", (25, 80), None, "that at the flange: no taper"),
    Key(name="bellmouth", kind=Kind.FLAG, says="Whether they begin with a rounded mouth.", default=True, why="usual"),
    _bends(0.15, "one smooth bend"),
)  # fmt: skip

_HEADER: Final = (
    Key(name="cylinders", kind=Kind.COUNTS, says="Cylinders of this header.", why="those of one bank"),
    Key(name="layout", kind=Kind.WORD, words=("individual", "log", "2-1", "3-1", "4-1", "5-1", "6-1", "8-1", "4-2-1",
        "6-2-1", "6-3-1", "8-4-1", "8-2-1"), says="Which pipes join where.",
        why="all into one; of more than six cylinders a log; of one, individual"),
    Key(name="groups", kind=Kind.GROUPS, says='Which cylinders meet first, as in `[[1, 4], [2, 3]]`; only for "4-2-1" '
        "and its like.", why="those that fire farthest apart"),
    Key(name="primary", kind=Kind.TABLE, says="Pipe of each cylinder.", optional=True),
    Key(name="secondary", kind=Kind.TABLE, says='Pipe between the merges of "4-2-1" and its like.', optional=True),
    Key(name="merge", kind=Kind.TABLE, says="Cone in which pipes become one.", optional=True),
    Key(name="collector", kind=Kind.TABLE, says="Pipe behind the last merge, or behind the log.", optional=True),
    Key(name="extension", kind=Kind.TABLE, says="Pipe behind the collector.", optional=True),
    Key(name="megaphone", kind=Kind.TABLE, says="Cone at the end of each individual pipe.", optional=True),
    _mm("spacing", "Distance between two cylinders on a log.", (70, 150), None, "1.15 times the bore"),
)  # fmt: skip
_MERGE: Final = (
    _mm("length", "From where the pipes end to the outlet.", (50, 250), None, "2 times the primary's diameter"),
    _mm("outlet", "Diameter of the outlet.", (30, 110), None, "that of the pipe that follows"),
    Key(name="angle", kind=_Q, unit="deg", says="Angle of each pipe against the axis.", possible=(0, 89),
        usual=(5, 20), default=10.0, why="a slender merge"),
    Key(name="model", kind=Kind.WORD, words=_JOINS, why="as exhaust.join_model",
        says="How the join is reckoned, as in exhaust.join_model."),
)  # fmt: skip
_PRIMARY: Final = (
    _mm("length", "Length from the flange to the merge.", (150, 1200), 750.0, "a usual header"),
    Key(name="lengths", kind=Kind.ROW, unit="mm", says="Length of each by cylinder, in the order of cylinders; instead "
        "of length.", possible=(1, 10000), optional=True),
    _mm("diameter", "Inner diameter.", (28, 60), None, "1.05 times that of the port"),
    _mm("step_at", "Distance from the flange at which the diameter steps up.", (50, 800)),
    _mm("step_diameter", "Inner diameter after the step.", (28, 65)),
    _bends(0.3, "two smooth bends"),
)  # fmt: skip
_COLLECTOR: Final = _tube(
    _mm("length", "Length.", (50, 900), 300.0, "a usual collector"),
    _mm("diameter", "Inner diameter.", (35, 110), None,
        "0.7 times the circle with the area of the pipes that merge; of a log, 1.3 times the primary"),
)  # fmt: skip

_EXHAUST: Final = (
    Key(name="joined", kind=Kind.WORD, words=("separate", "y", "x", "h"), default="separate", why="no crossing",
        says="How two systems meet: not at all, into one pipe, at one point, by a cross pipe."),
    Key(name="front", kind=Kind.TABLE, says="Pipe behind each header, before the crossing.", optional=True),
    Key(name="crossover", kind=Kind.TABLE, says="Cross pipe of an h.", optional=True),
    Key(name="middle", kind=Kind.TABLE, says="Pipe behind the crossing.", optional=True),
    Key(name="silencer", kind=Kind.TABLES, says="Silencers in the order of the flow, in each system.", optional=True,
        why="no silencer is declared"),
    Key(name="tailpipe", kind=Kind.TABLE, says="Last pipe.", optional=True),
    Key(name="join_model", kind=Kind.WORD, words=_JOINS, default="mixing", why="nearest to what jets do",
        says="How joins of three or more pipes are reckoned: with the mixing of jets, with one static pressure, with "
        "one stagnation pressure. Run them all to see how much it matters."),
    Key(name="tip", kind=Kind.WORD, words=("plain", "flanged", "bellmouth"), default="plain", why="a pipe cut off",
        says="Shape of the open end."),
)  # fmt: skip
_FOLLOWING: Final = _mm("diameter", "Inner diameter.", (35, 110), None, "that of the pipe before it")
_SILENCER: Final = (
    Key(name="kind", kind=Kind.WORD, words=("straight-through", "chamber", "reversed"), default="straight-through",
        why="usual for a fast car", says="How the gas goes through it."),
    _mm("length", "Length of the shell.", (150, 800), 400.0, "a usual silencer"),
    _mm("diameter", "Inner diameter of its tube.", (35, 110), None, "that of the pipe before it"),
    _mm("shell", "Diameter of a circle with the area of the shell.", (90, 250), None, "2.4 times the tube"),
    Key(name="porosity", kind=_Q, unit="%", says="Holes in the tube's surface.", possible=(0.5, 90), usual=(10, 45),
        default=27.0, why="a usual perforated tube"),
    Key(name="packed", kind=Kind.FLAG, says="Whether wool fills the room around the tube.", default=True, why="usual"),
    Key(name="resistivity", kind=_Q, unit="kPa s/m^2", says="Flow resistivity of the wool.", possible=(0.1, 200),
        usual=(4, 40), default=10.0, why="glass wool as it is packed"),
    Key(name="after", kind=_Q, unit="mm", says="Length of the pipe behind it, before the next silencer.",
        possible=(1, 20000), usual=(50, 2500), why="100 mm before another silencer, nothing behind the last"),
)  # fmt: skip

_TUBE_LIKE: Final = _tube(_mm("length", "Length.", (50, 3000), 500.0, "a usual length"), _FOLLOWING)
PIPE_KEYS: Final[dict[str, tuple[Key, ...]]] = {
    "intake": _INTAKE,
    "air_box": _AIR_BOX,
    "throttle": _THROTTLE,
    "plenum": _PLENUM,
    "runners": _RUNNERS,
    "header": _HEADER,
    "header.primary": _PRIMARY,
    "header.secondary": _tube(
        _mm("length", "Length.", (150, 900), 400.0, "a usual header"),
        _mm("diameter", "Inner diameter.", (32, 70), None,
            "0.85 times the circle with the area of the pipes that merge"),
        0.15,
    ),
    "header.merge": _MERGE,
    "header.collector": _COLLECTOR,
    "header.extension": _tube(_mm("length", "Length.", (50, 1500), 300.0, "a usual length"), _FOLLOWING),
    "header.megaphone": _tube(
        _mm("length", "Length.", (100, 1000), 400.0, "a usual length"),
        _mm("diameter", "Inner diameter where it begins.", (30, 80), None, "that of the primary"),
    ),
    "exhaust": _EXHAUST,
    "exhaust.front": _TUBE_LIKE,
    "exhaust.crossover": _tube(_mm("length", "Length.", (100, 1000), 300.0, "a usual width"), _FOLLOWING),
    "exhaust.middle": _TUBE_LIKE,
    "exhaust.silencer": _SILENCER,
    "exhaust.tailpipe": _tube(_mm("length", "Length.", (50, 3000), 300.0, "a usual length"), _FOLLOWING, 0.15),
}  # fmt: skip

_SIDE: Final = Key(name="side", kind=Kind.WORD, words=("exhaust", "intake"), default="exhaust",
                   why="most free networks are exhausts", says="Side of the engine.")  # fmt: skip
_WALL: Final = Key(name="wall", kind=_Q, unit="degC", says="Temperature of the wall.", possible=(-50, 1200),
                   usual=(0, 900), why="from [walls], by group")  # fmt: skip
_ENDS: Final = (
    '`"open"`, `"closed"`, `"anechoic"`, `"cylinder 1"`, `"port 1"`, `"volume NAME"`, `"silencer NAME"` or the name '
    "of a join"
)


def _angle(end: str) -> Key:
    return Key(name=f"{end}_angle", kind=_Q, unit="deg", possible=(0, 180), optional=True,
               says=f"Angle of that end in its join ({'from' if end == 'from' else 'to'}): 0 straight into the join's "
               "axis, 180 for the pipe that leads away. Where absent: 10 for a pipe that ends in the join, 180 for "
               "one that starts there.")  # fmt: skip


NETWORK_KEYS: Final[dict[str, tuple[Key, ...]]] = {
    "network": (
        Key(name="pipe", kind=Kind.TABLES, says="Pipes.", optional=True),
        Key(name="volume", kind=Kind.TABLES, says="Volumes.", optional=True),
        Key(name="join", kind=Kind.TABLES, says="Joins.", optional=True),
        Key(name="silencer", kind=Kind.TABLES, says="Silencers.", optional=True),
        Key(name="join_model", kind=Kind.WORD, words=_JOINS, default="mixing", why="nearest to what jets do",
            says="Model of every join that names none, as in exhaust.join_model."),
    ),
    "network.pipe": (
        Key(name="name", kind=Kind.TEXT, says="Name of the pipe.", why="needed"),
        _SIDE,
        Key(name="group", kind=Kind.TEXT, says="Group of pipes, for colours and walls.", default="pipe", why="unnamed"),
        Key(name="from", kind=Kind.TEXT, says=f"What its start is fixed to: {_ENDS}.", optional=True),
        Key(name="to", kind=Kind.TEXT, says="What its end is fixed to, in the same words.", optional=True),
        _angle("from"),
        _angle("to"),
        _mm("length", "Length.", (20, 3000)),
        _mm("diameter", "Inner diameter at the start.", (25, 120)),
        _mm("end_diameter", "Inner diameter at the end.", (25, 150), None, "no taper: the diameter"),
        Key(name="at", kind=Kind.ROW, unit="mm", says="Distances from the start, the first 0; with diameters, instead "
            "of length and diameter.", possible=(0, 20000), optional=True),
        Key(name="diameters", kind=Kind.ROW, unit="mm", says="Inner diameters there.", possible=(1, 2000),
            optional=True),
        _bends(0.0, "straight"),
        _WALL,
    ),
    "network.volume": (
        Key(name="name", kind=Kind.TEXT, says="Name of the volume.", why="needed"),
        _SIDE,
        Key(name="volume", kind=_Q, unit="L", says="Content.", possible=(0.001, 1000), usual=(0.2, 50), why="needed"),
        _WALL,
        Key(name="packed", kind=Kind.FLAG, says="Whether wool fills it.", default=False, why="an empty volume"),
    ),
    "network.join": (
        Key(name="name", kind=Kind.TEXT, says="Name of the join.", why="needed"),
        Key(name="model", kind=Kind.WORD, words=_JOINS, why="as network.join_model",
            says="How it is reckoned, as in exhaust.join_model."),
        Key(name="pipes", kind=Kind.TEXTS, says='Pipe ends that meet, as in `"collector start"`; or the pipes name the '
            "join.", optional=True),
    ),
    "network.silencer": (
        Key(name="name", kind=Kind.TEXT, says="Name of the silencer.", why="needed"),
        *(replace(key, why="needed") if key.name == "diameter" else key for key in _SILENCER if key.name != "after"),
    ),
}  # fmt: skip
