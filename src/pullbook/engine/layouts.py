"""EngineSpec -> Network: all shorthand spelt out, with the effective areas of the valves over the crank angle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.cam import design_lobe
from pullbook.engine.layout_exhaust import lay_exhaust
from pullbook.engine.layout_free import lay_free
from pullbook.engine.layout_intake import lay_intake
from pullbook.engine.lobe import measured_lobe, valve_lift_table
from pullbook.engine.network_cylinders import Cylinder, ValveSet
from pullbook.engine.network_ends import Side
from pullbook.engine.plumbing import Plumbing
from pullbook.engine.valve_flow import Bench, ValveSize, bench_curve, effective_area, usual_curve
from pullbook.errors import EngineFileError, OutOfRangeError

if TYPE_CHECKING:
    from pullbook.engine.lobe import Lobe
    from pullbook.engine.network import Network
    from pullbook.engine.parts import Breathing, EngineSpec
    from pullbook.engine.parts_block import Cam, FlowTable
    from pullbook.engine.valve_flow import DischargeCurve
    from pullbook.quantities.arrays import FloatArray

__all__ = ["TABLE_POINTS", "build_network", "lobe_of", "valve_tables"]

TABLE_POINTS: Final = 1440  # half a degree apart
_OVERLAP_TOP: Final = 360.0
_SEATED: Final = 1e-6  # m


def build_network(spec: EngineSpec, *, where: str = "engine.toml") -> Network:
    """Network of an engine.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    where : str
        Name of the file, for a message.

    Returns
    -------
    Network
        Validated network.

    Raises
    ------
    EngineFileError
        If the pipes do not make a network: an end that is fixed to nothing or twice, no open end.
    OutOfRangeError
        If no smooth lobe has the declared durations, or a flow-bench table cannot be.

    Examples
    --------
    >>> from pullbook.engine.engine_file import parse_engine
    >>> network = build_network(parse_engine(""))
    >>> [pipe.name for pipe in network.pipes][:3], len(network.joins), len(network.cylinders)
    (['throttle', 'runner 1', 'runner 2'], 1, 4)
    """
    plumbing = Plumbing()
    free = spec.network.sides
    if Side.INTAKE not in free:
        lay_intake(spec, plumbing)
    if Side.EXHAUST not in free:
        lay_exhaust(spec, plumbing)
    lay_free(spec, plumbing)
    network = plumbing.network(_cylinders(spec, where))
    network.validate(where)
    return network


def _cylinders(spec: EngineSpec, where: str) -> tuple[Cylinder, ...]:
    block, walls = spec.block, spec.walls
    valve_sets = valve_tables(spec, where=where)
    return tuple(
        Cylinder(
            number=number,
            bore=block.bore,
            stroke=block.stroke,
            rod=block.rod,
            pin_offset=block.pin_offset,
            compression_ratio=block.compression_ratio,
            firing_angle_deg=block.firing_angles_deg[number - 1],
            bank=block.banks[number - 1],
            valve_sets=valve_sets,
            piston_temperature=walls.piston,
            head_temperature=walls.head,
            liner_temperature=walls.liner,
            piston_area=block.piston_area,
            head_area=block.head_area,
        )
        for number in range(1, block.cylinders + 1)
    )


def valve_tables(spec: EngineSpec, *, where: str = "engine.toml") -> tuple[ValveSet, ValveSet]:
    """Effective areas of the intake and the exhaust valves over the crank angle of a cylinder.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    where : str
        Name of the file, for a message.

    Returns
    -------
    tuple of (ValveSet, ValveSet)
        Intake, exhaust.

    Raises
    ------
    OutOfRangeError
        If no smooth lobe has the declared durations, or a flow-bench table cannot be.
    EngineFileError
        If a valve has no time to close.
    """
    return _valve_set(spec.intake_side, where), _valve_set(spec.exhaust_side, where)


def _valve_set(side: Breathing, where: str) -> ValveSet:
    cam, valves = side.cam, side.valves
    try:
        lobe = lobe_of(cam)
    except OutOfRangeError as error:
        raise _placed(error, f"{where}: {side.side}_cam.{'lifts' if cam.measured else 'durations'}") from None
    centre = _OVERLAP_TOP + (cam.centreline_deg if side.side is Side.INTAKE else -cam.centreline_deg) + lobe.nose_deg
    lift = valve_lift_table(lobe, centre, cam.rocker_ratio, _lash(cam), TABLE_POINTS)
    opens, closes = _events(lift, centre, f"{where}: {side.side}_cam")
    size = ValveSize(count=valves.count, head=valves.head, throat=valves.throat, stem=valves.stem)
    try:
        into, out_of = _curves(side.port.flow, size)
    except OutOfRangeError as error:
        raise _placed(error, f"{where}: {side.side}_port.flow") from None
    return ValveSet(
        side=side.side,
        area_in=effective_area(into, lift, size),
        area_out=effective_area(out_of, lift, size),
        lift=lift,
        opens_deg=opens,
        closes_deg=closes,
        count=valves.count,
        head_diameter=valves.head,
    )


def _placed(error: OutOfRangeError, where: str) -> OutOfRangeError:
    """The same error with the key of the file that it is about."""
    return OutOfRangeError(error.what, where=where, value=error.value, remedy=error.remedy)


def _lash(cam: Cam) -> float:
    """Clearance to take off the lobe; a lift measured at the valve is without it already."""
    return 0.0 if cam.measured is not None and cam.measured.at == "valve" else cam.lash


def lobe_of(cam: Cam) -> Lobe:
    """Lobe of a camshaft, at the tappet.

    Parameters
    ----------
    cam : Cam
        Its durations or its measured lift.

    Returns
    -------
    Lobe
        Lift over crank degrees from the nose.

    Raises
    ------
    OutOfRangeError
        If no smooth lobe has the durations, or the table cannot be.
    """
    if cam.measured is not None:
        ratio = cam.rocker_ratio if cam.measured.at == "valve" else 1.0
        return measured_lobe(cam.measured.angles_deg, [lift / ratio for lift in cam.measured.lifts])
    at_valve = cam.durations_at == "valve"
    durations = {
        (one.lift + cam.lash) / cam.rocker_ratio if at_valve else one.lift: one.lasts_deg for one in cam.durations
    }
    return design_lobe(cam.lobe_lift, durations)


def _events(lift: FloatArray, centre_deg: float, where: str) -> tuple[float, float]:
    """Own angles at which the valve leaves its seat and is back on it. [deg, deg]."""
    step = 720.0 / lift.size
    off = lift > _SEATED
    if off.all():
        raise EngineFileError("the valve never closes", where=where, remedy="check durations, lift and lash")
    middle = round(centre_deg / step)
    before = next(k for k in range(lift.size) if not off[(middle - k) % lift.size])
    after = next(k for k in range(lift.size) if not off[(middle + k) % lift.size])
    return (middle - before) * step, (middle + after) * step


def _curves(flow: FlowTable | None, valve: ValveSize) -> tuple[DischargeCurve, DischargeCurve]:
    """Discharge coefficients into the cylinder and out of it; a direction that was not measured is as the other."""
    if flow is None:
        return usual_curve(), usual_curve()
    bench = Bench(depression=flow.depression, pressure=flow.pressure, temperature=flow.temperature)
    tested = ValveSize(count=flow.valves, head=valve.head, throat=valve.throat, stem=valve.stem)
    found: list[DischargeCurve] = []
    for flows in (flow.into or flow.out_of, flow.out_of or flow.into):
        open_ = [(lift, passed) for lift, passed in zip(flow.lifts, flows, strict=True) if lift > 0.0]
        lifts = np.array([lift for lift, _ in open_])
        found.append(bench_curve(lifts, np.array([passed for _, passed in open_]), bench, tested))
    return found[0], found[1]
