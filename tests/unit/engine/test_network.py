"""What a network of pipes is, and what cannot be one."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.network import Network
from pullbook.engine.network_ends import (
    END,
    START,
    AnechoicEnd,
    Attachment,
    ClosedEnd,
    JoinEnd,
    OpenEnd,
    Side,
    VolumeEnd,
)
from pullbook.engine.network_pipes import Join, Perforate, Pipe, Section, Volume, Wall
from pullbook.errors import EngineFileError

if TYPE_CHECKING:
    from pullbook.engine.network_ends import End

WALL = Wall(temperature=300.0)
OPEN = OpenEnd(loss_in=0.9, loss_out=0.0, correction=0.010)


def section(length: float = 0.5, first: float = 0.04, last: float = 0.04) -> Section:
    return Section(group="pipe", length=length, diameter_start=first, diameter_end=last, wall=WALL)


def pipe(name: str, *sections: Section, side: Side = Side.EXHAUST) -> Pipe:
    return Pipe(name=name, side=side, sections=sections or (section(),))


def fixed(number: int, start: End, end: End) -> tuple[Attachment, Attachment]:
    return Attachment(pipe=number, end=START, to=start), Attachment(pipe=number, end=END, to=end)


GOOD = Network(
    pipes=(pipe("a"), pipe("b"), pipe("c")),
    attachments=(
        *fixed(0, OPEN, JoinEnd(join=0, angle_deg=0.0)),
        *fixed(1, JoinEnd(join=0, angle_deg=180.0), AnechoicEnd()),
        *fixed(2, JoinEnd(join=0, angle_deg=90.0), VolumeEnd(volume=0, area_in=1e-3, area_out=1e-3)),
    ),
    volumes=(Volume(name="pot", side=Side.EXHAUST, volume=1e-3, wall=WALL),),
    joins=(Join(name="tee"),),
    perforates=(
        Perforate(name="holes", pipe=0, start=0.1, end=0.3, volume=0, open_area=1e-3, resistance=100.0),
    ),
)  # fmt: skip


def test_a_network_that_can_be_is_accepted() -> None:
    GOOD.validate()
    assert [GOOD.pipes[one.pipe].name for one in GOOD.members(0)] == ["a", "b", "c"]


LOOSE = tuple(one for one in GOOD.attachments if not isinstance(one.to, AnechoicEnd))
SHUT = tuple(
    replace(one, to=ClosedEnd()) if isinstance(one.to, OpenEnd | AnechoicEnd) else one for one in GOOD.attachments
)
WRONG = {
    "end fixed to nothing": (replace(GOOD, attachments=LOOSE), "b, end", "fixed to nothing"),
    "end fixed twice": (
        replace(GOOD, attachments=(*GOOD.attachments, Attachment(pipe=1, end=END, to=OPEN))), "b, end", "fixed 2 times",
    ),
    "pipe that is not there": (
        replace(GOOD, attachments=(*GOOD.attachments, Attachment(pipe=7, end=END, to=OPEN))), "pipe 7", "no such end",
    ),
    "join of one pipe": (replace(GOOD, joins=(*GOOD.joins, Join(name="lonely"))), "lonely", "two pipes or more"),
    "join of one pipe alone": (
        replace(
            GOOD,
            joins=(*GOOD.joins, Join(name="lonely")),
            attachments=(
                *(one for one in GOOD.attachments if not isinstance(one.to, AnechoicEnd)),
                Attachment(pipe=1, end=END, to=JoinEnd(join=1, angle_deg=0.0)),
            ),
        ),
        "lonely", "('1')",
    ),
    "join that is not there": (replace(GOOD, joins=()), "a", "no such join"),
    "volume that is not there": (replace(GOOD, volumes=(), perforates=()), "c", "no such volume"),
    "nothing open": (replace(GOOD, attachments=SHUT), "", "no pipe of the intake is open"),
    "negative length": (replace(GOOD, pipes=(pipe("a", section(-0.5)), *GOOD.pipes[1:])), "a, pipe", "-500 mm"),
    "no length": (replace(GOOD, pipes=(pipe("a", section(0.0)), *GOOD.pipes[1:])), "a, pipe", "length is not positive"),
    "not a number": (replace(GOOD, pipes=(pipe("a", section(math.nan)), *GOOD.pipes[1:])), "a, pipe", "nan mm"),
    "no diameter": (replace(GOOD, pipes=(pipe("a", section(0.5, 0.0)), *GOOD.pipes[1:])), "a, pipe", "diameter"),
    "jump inside a pipe": (
        replace(GOOD, pipes=(pipe("a", section(), section(0.5, 0.05, 0.05)), *GOOD.pipes[1:])), "a", "40 to 50 mm",
    ),
    "perforate beyond its pipe": (
        replace(GOOD, perforates=(replace(GOOD.perforates[0], end=0.9),)), "holes", "0 to 500 mm",
    ),
    "empty volume": (replace(GOOD, volumes=(replace(GOOD.volumes[0], volume=0.0),)), "pot", "0 L"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_network_that_cannot_be_is_refused_by_the_name_of_the_part(name: str) -> None:
    network, place, what = WRONG[name]
    with pytest.raises(EngineFileError) as raised:
        network.validate("engine.toml")
    assert place in raised.value.where
    assert what in str(raised.value)


def test_every_valve_has_one_pipe() -> None:
    network = build_network(parse_engine(""))
    number = network.index("primary 2")
    shut = tuple(
        replace(one, to=ClosedEnd()) if (one.pipe, one.end) == (number, START) else one for one in network.attachments
    )
    with pytest.raises(EngineFileError, match="cylinder 2, valve set 2: 0 pipes are fixed"):
        replace(network, attachments=shut).validate()


def test_volume_of_a_cone_is_that_of_a_frustum() -> None:
    # pi h / 12 (D^2 + D d + d^2) with 100, 40, 20 mm: 73303.8 mm3.
    assert pipe("cone", section(0.1, 0.04, 0.02)).volume == pytest.approx(73303.8e-9, rel=1e-6)


def test_stations_stand_where_the_taper_changes() -> None:
    bent = pipe("a", section(0.1, 0.04, 0.05), section(0.3, 0.05, 0.05))
    assert [x for x, _ in bent.stations] == pytest.approx([0.0, 0.1, 0.4])
    assert [d for _, d in bent.stations] == pytest.approx([0.04, 0.05, 0.05])


def test_end_correction_is_straight_pipe_before_and_behind() -> None:
    both = replace(GOOD, attachments=(*fixed(0, OPEN, OPEN), *GOOD.attachments[2:]))
    assert [x for x, _ in both.sounding_stations(0)] == pytest.approx([0.0, 0.010, 0.510, 0.520])
    assert [x for x, _ in GOOD.sounding_stations(0)] == pytest.approx([0.0, 0.010, 0.510])
    assert [x for x, _ in GOOD.sounding_stations(1)] == pytest.approx([0.0, 0.5])


def test_valve_tables_cannot_be_written_to() -> None:
    table = build_network(parse_engine("")).cylinders[0].valve_sets[0].area_in
    with pytest.raises(ValueError, match="read-only"):
        table[0] = 1.0


def test_clearance_volume_follows_from_the_compression_ratio() -> None:
    cylinder = build_network(
        parse_engine('[engine]\nbore = "100 mm"\nstroke = "80 mm"\ncompression_ratio = 9\n')
    ).cylinders[0]
    assert cylinder.swept_volume == pytest.approx(628.3185e-6, rel=1e-6)  # pi / 4 x 100^2 x 80 mm3
    assert cylinder.clearance_volume == pytest.approx(78.53982e-6, rel=1e-6)  # an eighth of it
