"""Pipes that are declared freely: what their ends are fixed to, and which shorthand they replace."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.network_ends import END, START, ClosedEnd, JoinEnd, OpenEnd, ValveEnd, VolumeEnd
from pullbook.errors import InputError

if TYPE_CHECKING:
    from pullbook.engine.network import Network


def network_of(text: str) -> Network:
    return build_network(parse_engine(text))


def names(network: Network, start: str) -> list[str]:
    return [pipe.name for pipe in network.pipes if pipe.name.startswith(start)]


def joined(network: Network, join: int) -> set[str]:
    return {network.pipes[one.pipe].name for one in network.members(join)}


FREE = """
[engine]
cylinders = 2
[[network.pipe]]
name = "left"
from = "port 1"
to = "pot"
to_angle = "30 deg"
length = "600 mm"
diameter = "38 mm"
[[network.pipe]]
name = "right"
from = "cylinder 2"
to = "pot"
length = "600 mm"
diameter = "38 mm"
[[network.pipe]]
name = "tail"
to = "open"
at = "0 200 500 mm"
diameters = "50 50 80 mm"
[[network.pipe]]
name = "branch"
to = "closed"
from = "volume side"
length = "300 mm"
diameter = "30 mm"
[[network.join]]
name = "pot"
pipes = ["tail start"]
[[network.volume]]
name = "side"
volume = "0.5 L"
"""


def test_a_free_network_replaces_the_shorthand_of_its_side_only() -> None:
    network = network_of(FREE)
    assert [pipe.name for pipe in network.pipes if pipe.side == "exhaust"] == ["left", "right", "tail", "branch"]
    assert len(names(network, "runner")) == 2
    assert joined(network, 0) == {"left", "right", "tail"}


def test_a_free_pipe_from_a_port_has_the_port_before_it() -> None:
    network = network_of(FREE + '[exhaust_port]\nlength = "75 mm"\n')
    left, right = network.pipes[network.index("left")], network.pipes[network.index("right")]
    assert left.length == pytest.approx(0.675)
    assert right.length == pytest.approx(0.600)
    assert network.end_of(network.index("left"), START) == ValveEnd(cylinder=0, valve_set=1)


def test_free_ends_are_fixed_to_what_their_words_say() -> None:
    network = network_of(FREE)
    branch, tail = network.index("branch"), network.index("tail")
    side = network.end_of(branch, START)
    assert isinstance(side, VolumeEnd)
    assert network.volumes[side.volume].name == "side"
    assert isinstance(network.end_of(branch, END), ClosedEnd)
    assert isinstance(network.end_of(tail, END), OpenEnd)
    assert network.end_of(network.index("left"), END) == JoinEnd(join=0, angle_deg=30.0)
    stations = network.pipes[tail].stations
    assert [x for x, _ in stations] == pytest.approx([0.0, 0.2, 0.5])
    assert [d for _, d in stations] == pytest.approx([0.05, 0.05, 0.08])


def test_a_free_intake_may_lead_into_a_port() -> None:
    text = """
    [engine]
    cylinders = 1
    [[network.pipe]]
    name = "trumpet"
    side = "intake"
    from = "open"
    to = "port 1"
    length = "250 mm"
    diameter = "44 mm"
    """
    network = network_of(text)
    trumpet = network.index("trumpet")
    assert network.end_of(trumpet, END) == ValveEnd(cylinder=0, valve_set=0)
    assert network.pipes[trumpet].length == pytest.approx(0.340)  # port of 90 mm behind it
    assert len(names(network, "primary")) == 1


SILENCED = """
[engine]
cylinders = 1
[[network.pipe]]
name = "primary"
from = "port 1"
to = "silencer pot"
length = "700 mm"
diameter = "45 mm"
[[network.pipe]]
name = "tail"
from = "silencer pot"
to = "open"
length = "200 mm"
diameter = "45 mm"
[[network.silencer]]
name = "pot"
kind = "KIND"
length = "300 mm"
diameter = "45 mm"
shell = "120 mm"
"""


def silenced(kind: str) -> str:
    return SILENCED.replace("KIND", kind)


def test_a_free_silencer_stands_between_the_pipe_that_leads_to_it_and_the_one_that_leads_away() -> None:
    network = network_of(silenced("straight-through"))
    pot = network.index("pot")
    inlet, outlet = network.end_of(pot, START), network.end_of(pot, END)
    assert isinstance(inlet, JoinEnd)
    assert isinstance(outlet, JoinEnd)
    # Behind the step from the port the first pipe goes on under a name with what it is.
    assert joined(network, inlet.join) == {"primary, pipe", "pot"}
    assert joined(network, outlet.join) == {"pot", "tail"}
    assert network.pipes[pot].length == pytest.approx(0.300)
    assert sum(one.end - one.start for one in network.perforates if one.pipe == pot) == pytest.approx(0.300)


@pytest.mark.parametrize("kind", ["chamber", "reversed"])
def test_a_free_silencer_of_pipes_is_that_of_the_shorthand(kind: str) -> None:
    free = network_of(silenced(kind))
    short = network_of(
        f"""
        [engine]
        cylinders = 1
        [header]
        primary = {{ length = "700 mm", diameter = "45 mm" }}
        [[exhaust.silencer]]
        kind = "{kind}"
        length = "300 mm"
        diameter = "45 mm"
        shell = "120 mm"
        [exhaust.tailpipe]
        length = "200 mm"
        diameter = "45 mm"
    """.replace("[header]", "[[header]]")
    )
    widths = [
        {
            round(section.diameter_start, 6)
            for pipe in one.pipes
            for section in pipe.sections
            if section.group == "silencer"
        }
        for one in (free, short)
    ]
    assert widths[0] == widths[1]
    volumes = [sum(pipe.volume for pipe in one.pipes if pipe.side == "exhaust") for one in (free, short)]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-9)


WRONG = {
    "no pipe leads away": (('from = "silencer pot"', 'from = "closed"'), ("outlet of the silencer 'pot'", "nothing")),
    "no pipe leads to it": (('to = "silencer pot"', 'to = "closed"'), ("inlet of the silencer 'pot'", "nothing")),
    "two pipes lead to it": (('to = "open"', 'to = "silencer pot"'), ("joined twice", "'primary' and to 'tail'")),
    "an intake pipe": (
        ('name = "tail"', 'name = "tail"\nside = "intake"'), ("part of the exhaust", "network.pipe[2].from")
    ),
    "no such silencer": (
        ('to = "open"', 'to = "silencer pott"'), ("network.pipe[2].to", "perhaps 'silencer pot' is meant")
    ),
    "its pipe does not fit": (('shell = "120 mm"', 'shell = "40 mm"'), ("network.silencer[1].shell", "45 mm")),
    "no diameter": (('kind = "straight-through"\nlength = "300 mm"\ndiameter = "45 mm"',
                     'kind = "straight-through"\nlength = "300 mm"'), ("network.silencer[1].diameter", "missing")),
    "a name twice": (('shell = "120 mm"', 'shell = "120 mm"\n[[network.silencer]]\nname = "pot"\ndiameter = "45 mm"'),
                     ("network.silencer.name", "'pot' is given twice")),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_free_silencer_that_cannot_be_is_refused_with_its_place(name: str) -> None:
    (old, new), expected = WRONG[name]
    text = silenced("straight-through")
    assert old in text
    with pytest.raises(InputError) as caught:
        network_of(text.replace(old, new, 1))
    assert [part for part in expected if part not in str(caught.value)] == [], str(caught.value)


def test_joins_of_a_free_network_have_the_model_that_is_declared_for_all_or_for_each() -> None:
    assert {join.model for join in network_of(FREE).joins if join.name == "pot"} == {"mixing"}
    assert network_of(FREE + '[network]\njoin_model = "stagnation"\n').joins[0].model == "stagnation"
    each = FREE.replace('name = "pot"\n', 'name = "pot"\nmodel = "pressure"\n')
    assert network_of(each + '[network]\njoin_model = "stagnation"\n').joins[0].model == "pressure"


@pytest.mark.parametrize(
    ("header", "exhaust", "count"),
    [
        ('layout = "4-2-1"', "", 3),
        ('layout = "log"', "", 3),
        ('layout = "4-1"\nmerge = { model = "pressure" }', "", 0),
        ("cylinders = [1, 2]\n[[header]]\ncylinders = [3, 4]", 'joined = "x"\nmiddle = { length = "400 mm" }\n', 3),
        ("cylinders = [1, 2]\n[[header]]\ncylinders = [3, 4]", 'joined = "h"\nmiddle = { length = "400 mm" }\n', 4),
    ],
)
def test_joins_of_three_or_more_pipes_have_the_model_of_the_exhaust(header: str, exhaust: str, count: int) -> None:
    network = network_of(f'[[header]]\n{header}\n[exhaust]\njoin_model = "stagnation"\n{exhaust}')
    many = [join for number, join in enumerate(network.joins) if len(network.members(number)) > 2]
    assert [join.model for join in many].count("stagnation") == count
    steps = [join for number, join in enumerate(network.joins) if len(network.members(number)) == 2]
    assert {join.model for join in steps} <= {"mixing", "stagnation"}
