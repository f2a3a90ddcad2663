"""Intake shorthand as a network: air box, throttle, plenum, runners and ports."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.layout_walls import area, mouth, mouth_area, wall_of
from pullbook.engine.network_ends import Side, ValveEnd, VolumeEnd
from pullbook.engine.network_pipes import Volume
from pullbook.engine.parts_pipes import Tube

if TYPE_CHECKING:
    from pullbook.engine.network_ends import End
    from pullbook.engine.parts import EngineSpec
    from pullbook.engine.parts_pipes import AirBox
    from pullbook.engine.plumbing import Plumbing, Run

__all__ = ["lay_intake", "lay_intake_port"]

_SIDE: Final = Side.INTAKE
_WIDE_OPEN: Final = 0.999
_INTAKE_SET: Final = 0


def lay_intake(spec: EngineSpec, plumbing: Plumbing) -> None:
    """Lay the intake of an engine."""
    box = None if spec.intake.air_box is None else _air_box(spec, spec.intake.air_box, plumbing)
    lay = _individual if spec.intake.layout == "individual" else _with_plenum
    lay(spec, plumbing, box)


def lay_intake_port(spec: EngineSpec, plumbing: Plumbing, run: Run, number: int) -> None:
    """Lay the intake port of a cylinder at the end of a run, and end it at the valves."""
    port = spec.intake_side.port
    tube = Tube(length=port.length, diameter=port.flange_diameter, end_diameter=port.valve_diameter,
                bend_loss=port.bend_loss)  # fmt: skip
    run = plumbing.lay(run, "intake port", tube, wall_of(spec.walls, _SIDE, "intake_port"))
    plumbing.end(run, ValveEnd(cylinder=number - 1, valve_set=_INTAKE_SET))


def _air_box(spec: EngineSpec, box: AirBox, plumbing: Plumbing) -> int:
    wall = wall_of(spec.walls, _SIDE, "air_box")
    volume = plumbing.volume(Volume(name="air box", side=_SIDE, volume=box.volume, wall=wall))
    run = plumbing.run("air inlet", _SIDE, mouth("bellmouth" if box.bellmouth else "plain", box.inlet.diameter))
    run = plumbing.lay(run, "air inlet", box.inlet, wall)
    plumbing.end(run, _into(volume, run.diameter))
    return volume


def _into(volume: int, diameter: float) -> VolumeEnd:
    """End of a pipe that leads into a volume: back-flow has to go round the sharp edge, flow out of it does not."""
    return VolumeEnd(volume=volume, area_in=mouth_area(diameter, bellmouth=False), area_out=area(diameter))


def _out_of(volume: int | None, diameter: float, *, bellmouth: bool) -> End:
    """Start of a pipe that leads out of a volume, or from the open."""
    if volume is None:
        return mouth("bellmouth" if bellmouth else "plain", diameter)
    inward = mouth_area(diameter, bellmouth=bellmouth)
    return VolumeEnd(volume=volume, area_in=inward, area_out=area(diameter))


def _with_plenum(spec: EngineSpec, plumbing: Plumbing, box: int | None) -> None:
    intake = spec.intake
    body = intake.throttle.body
    plenum_wall = wall_of(spec.walls, _SIDE, "plenum")
    plenum = plumbing.volume(Volume(name="plenum", side=_SIDE, volume=intake.plenum, wall=plenum_wall))
    free = area(body.diameter) * intake.throttle.opening * intake.throttle.discharge
    for number in range(1, intake.throttle.count + 1):
        name = f"throttle {number}" if intake.throttle.count > 1 else "throttle"
        run = plumbing.run(name, _SIDE, _out_of(box, body.diameter, bellmouth=True))
        run = plumbing.lay(run, "throttle", body, wall_of(spec.walls, _SIDE, "throttle"))
        plumbing.end(run, VolumeEnd(volume=plenum, area_in=free, area_out=free))
    for number, tube in enumerate(intake.runners.tubes, start=1):
        start = _out_of(plenum, tube.diameter, bellmouth=intake.runners.bellmouth)
        run = plumbing.run(f"runner {number}", _SIDE, start)
        run = plumbing.lay(run, "runner", tube, wall_of(spec.walls, _SIDE, "runner"))
        lay_intake_port(spec, plumbing, run, number)


def _individual(spec: EngineSpec, plumbing: Plumbing, box: int | None) -> None:
    """Runner with a throttle for each cylinder; a throttle that is not wide open is an orifice at a small volume."""
    throttle, runners = spec.intake.throttle, spec.intake.runners
    runner_wall = wall_of(spec.walls, _SIDE, "runner")
    for number, tube in enumerate(runners.tubes, start=1):
        start = _out_of(box, throttle.body.diameter, bellmouth=runners.bellmouth)
        run = plumbing.run(f"throttle {number}", _SIDE, start)
        loss = 1.0 / throttle.discharge**2 - 1.0  # what the orifice would lose, spread over the body
        body = Tube(length=throttle.body.length, diameter=throttle.body.diameter,
                    end_diameter=throttle.body.end_diameter, bend_loss=loss)  # fmt: skip
        wide = throttle.opening >= _WIDE_OPEN
        run = plumbing.lay(run, "throttle", body if wide else throttle.body, wall_of(spec.walls, _SIDE, "throttle"))
        if wide:
            run.name = f"runner {number}"
        else:
            content = math.pi / 4.0 * throttle.body.diameter**3
            free = area(run.diameter) * throttle.opening * throttle.discharge
            volume = plumbing.volume(
                Volume(name=f"behind throttle {number}", side=_SIDE, volume=content, wall=runner_wall)
            )
            plumbing.end(run, VolumeEnd(volume=volume, area_in=free, area_out=free))
            run = plumbing.run(f"runner {number}", _SIDE, _out_of(volume, tube.diameter, bellmouth=True))
        run = plumbing.lay(run, "runner", tube, runner_wall)
        lay_intake_port(spec, plumbing, run, number)
