"""Freely declared pipes as a network: what each end is fixed to, in the words of the file."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from pullbook.engine.layout_exhaust import exhaust_port_run
from pullbook.engine.layout_intake import lay_intake_port
from pullbook.engine.layout_silencers import lay_free_silencer
from pullbook.engine.layout_walls import area, mouth, mouth_area, wall_at
from pullbook.engine.network_ends import END, START, AnechoicEnd, ClosedEnd, JoinEnd, Side, ValveEnd, VolumeEnd
from pullbook.engine.network_pipes import Volume
from pullbook.engine.parts_pipes import Tube
from pullbook.errors import EngineFileError
from pullbook.quantities.toml_table import nearest

if TYPE_CHECKING:
    from pullbook.engine.network_ends import End
    from pullbook.engine.parts import EngineSpec
    from pullbook.engine.parts_network import FreePipe, FreeSilencer
    from pullbook.engine.plumbing import Plumbing, Run

__all__ = ["lay_free"]

_NUMBERED: Final = re.compile(r"(cylinder|port) (\d+)")
_PLAIN: Final = ("open", "closed", "anechoic")
_KEYS: Final = {START: "from", END: "to"}
_PORT: Final = "port"


def lay_free(spec: EngineSpec, plumbing: Plumbing) -> None:
    """Lay the pipes that are declared freely.

    Raises
    ------
    EngineFileError
        If an end is fixed to nothing, to two things, or to something that is not there.
    """
    _Fitter(spec, plumbing).lay()


class _Fitter:
    """Finds what the words of the file stand for."""

    def __init__(self, spec: EngineSpec, plumbing: Plumbing) -> None:
        self._spec = spec
        self._plumbing = plumbing
        net = spec.network
        self._joins = {one.name: plumbing.join(one.name, one.model) for one in net.joins}
        self._volumes = {
            one.name: plumbing.volume(
                Volume(name=one.name, side=one.side, volume=one.volume, isothermal=one.packed,
                       wall=wall_at(spec.walls, one.side, one.wall))
            )
            for one in net.volumes
        }  # fmt: skip
        self._silencers: dict[str, tuple[int, int]] = {}
        for one in net.silencers:
            self._demand_pipes(one)
            self._silencers[one.name] = lay_free_silencer(spec, plumbing, one.silencer, one.name)
        self._words = {pipe.name: {START: pipe.starts_at, END: pipe.ends_at} for pipe in net.pipes}
        self._take_members()

    def _demand_pipes(self, silencer: FreeSilencer) -> None:
        """Each silencer has one pipe that leads to it, and one that leads away from it."""
        word = f"silencer {silencer.name}"
        pipes = self._spec.network.pipes
        for key, found in (
            ("to", [pipe for pipe in pipes if pipe.ends_at == word]),
            ("from", [pipe for pipe in pipes if pipe.starts_at == word]),
        ):
            end = "inlet" if key == "to" else "outlet"
            if not found:
                raise EngineFileError(
                    f"the {end} of the silencer '{silencer.name}' is joined to nothing", where=silencer.place,
                    remedy=f'write {key} = "{word}" in a pipe',
                )  # fmt: skip
            if len(found) > 1:
                raise EngineFileError(
                    f"the {end} of the silencer '{silencer.name}' is joined twice: to '{found[0].name}' and to "
                    f"'{found[1].name}'", where=f"{found[1].place}.{key}", value=word,
                    remedy="join the pipes, and lead one to the silencer",
                )  # fmt: skip
            if found[0].side is not Side.EXHAUST:
                raise EngineFileError(
                    "a silencer is part of the exhaust", where=f"{found[0].place}.{key}", value=word,
                    remedy='write side = "exhaust", or use volumes and pipes for the intake',
                )  # fmt: skip

    def _take_members(self) -> None:
        """Joins may name the pipe ends that meet, instead of the pipes naming the join."""
        for join in self._spec.network.joins:
            for member in join.members:
                name, _, end = member.rpartition(" ")
                if end not in _KEYS or name not in self._words:
                    ends = [f"{pipe} {one}" for pipe in self._words for one in _KEYS]
                    raise EngineFileError("there is no such pipe end", where=f"{join.place}.pipes", value=member,
                                          remedy=nearest(member, ends))  # fmt: skip
                before = self._words[name][end]
                if before:
                    raise EngineFileError(
                        f"the {end} of the pipe '{name}' is joined twice: to '{before}' and to '{join.name}'",
                        where=f"{join.place}.pipes", value=member, remedy="each end of a pipe is fixed to one thing",
                    )  # fmt: skip
                self._words[name][end] = join.name

    def lay(self) -> None:
        for pipe in self._spec.network.pipes:
            first = self._port(pipe, START)
            last = self._port(pipe, END)
            if first is not None and pipe.side is Side.EXHAUST:
                run = exhaust_port_run(self._spec, self._plumbing, first, pipe.name)
            else:
                run = self._plumbing.run(pipe.name, pipe.side, self._fixed(pipe, START, pipe.shape[0][1]))
            run = self._lay_shape(pipe, run)
            if last is not None and pipe.side is Side.INTAKE:
                lay_intake_port(self._spec, self._plumbing, run, last)
            else:
                self._plumbing.end(run, self._fixed(pipe, END, pipe.shape[-1][1]))

    def _lay_shape(self, pipe: FreePipe, run: Run) -> Run:
        wall = wall_at(self._spec.walls, pipe.side, pipe.wall)
        length = pipe.shape[-1][0]
        for (x0, d0), (x1, d1) in pairwise(pipe.shape):
            loss = pipe.bend_loss * (x1 - x0) / length
            tube = Tube(length=x1 - x0, diameter=d0, end_diameter=d1, bend_loss=loss)
            run = self._plumbing.lay(run, pipe.group, tube, wall)
        return run

    def _port(self, pipe: FreePipe, end: str) -> int | None:
        """Number of the cylinder whose port the pipe goes on from, or leads into."""
        found = _NUMBERED.fullmatch(self._words[pipe.name][end])
        if found is None or found[1] != _PORT:
            return None
        wanted = START if pipe.side is Side.EXHAUST else END
        if end != wanted:
            raise EngineFileError(
                f"an {pipe.side} pipe meets a port with its {wanted}", where=f"{pipe.place}.{_KEYS[end]}",
                value=found[0], remedy=f'write {_KEYS[wanted]} = "{found[0]}", or turn the pipe round',
            )  # fmt: skip
        return self._cylinder(pipe, end, int(found[2]))

    def _cylinder(self, pipe: FreePipe, end: str, number: int) -> int:
        if not 1 <= number <= self._spec.block.cylinders:
            raise EngineFileError(
                f"the engine has no cylinder {number}", where=f"{pipe.place}.{_KEYS[end]}",
                value=self._words[pipe.name][end], remedy=f"write a number from 1 to {self._spec.block.cylinders}",
            )  # fmt: skip
        return number

    def _fixed(self, pipe: FreePipe, end: str, diameter: float) -> End:
        word = self._words[pipe.name][end]
        if not word:
            raise EngineFileError(
                f"the {end} of the pipe '{pipe.name}' is joined to nothing", where=f"{pipe.place}.{_KEYS[end]}",
                remedy=f'write for example {_KEYS[end]} = "open"',
            )  # fmt: skip
        plain: dict[str, End] = {"open": mouth("plain", diameter), "closed": ClosedEnd(), "anechoic": AnechoicEnd()}
        found = _NUMBERED.fullmatch(word)
        if word in plain:
            return plain[word]
        if found is not None:
            cylinder = self._cylinder(pipe, end, int(found[2])) - 1
            return ValveEnd(cylinder=cylinder, valve_set=0 if pipe.side is Side.INTAKE else 1)
        if word in self._joins:
            angle = pipe.starts_at_angle_deg if end == START else pipe.ends_at_angle_deg
            return JoinEnd(join=self._joins[word], angle_deg=angle)
        if word.removeprefix("silencer ") in self._silencers and word.startswith("silencer "):
            inlet, outlet = self._silencers[word.removeprefix("silencer ")]
            return JoinEnd(join=outlet, angle_deg=180.0) if end == START else JoinEnd(join=inlet, angle_deg=0.0)
        volume = self._volumes.get(word.removeprefix("volume "))
        if volume is not None and word.startswith("volume "):
            return VolumeEnd(volume=volume, area_in=mouth_area(diameter, bellmouth=False), area_out=area(diameter))
        known = [
            *_PLAIN,
            *self._joins,
            *(f"volume {name}" for name in self._volumes),
            *(f"silencer {name}" for name in self._silencers),
            "cylinder 1",
            "port 1",
        ]
        raise EngineFileError(
            f"there is nothing of this name to fix the {end} of the pipe '{pipe.name}' to",
            where=f"{pipe.place}.{_KEYS[end]}", value=word, remedy=nearest(word, known),
        )  # fmt: skip
