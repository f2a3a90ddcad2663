"""Which air counts: channels, then what the tester wrote, then the head of the file, which is said."""

from __future__ import annotations

import numpy as np
import pytest
from builders import make_pull

from pullbook.app.known_air import known_air
from pullbook.quantities.channels import Channel
from pullbook.records.declaration import NO_AIR, Air
from pullbook.records.pull import Pull

STATED = Air(temperature=297.0, pressure=99_200.0, humidity=0.41)


def bare_pull() -> Pull:
    """Pull whose file has no channel of the air, and states all of it in its head."""
    full = make_pull()
    air = {Channel.AIR_TEMPERATURE, Channel.AIR_PRESSURE, Channel.AIR_HUMIDITY}
    channels = {channel: values for channel, values in full.channels.items() if channel not in air}
    return Pull(name=full.name, source=full.source, direction=full.direction, channels=channels, rows=full.rows,
                air=STATED)  # fmt: skip


def test_the_head_of_the_file_counts_where_nobody_declared_any_air_and_is_said() -> None:
    air, said = known_air(NO_AIR, bare_pull())
    assert air == STATED
    assert said == ("The temperature, pressure and humidity of the air are those which the head of the file states.",)


def test_the_testers_word_wins_over_the_head_of_the_file() -> None:
    air, said = known_air(Air(temperature=293.0, humidity=0.5), bare_pull())
    assert air == Air(temperature=293.0, pressure=99_200.0, humidity=0.5)
    assert said == ("The pressure of the air is that which the head of the file states.",)
    assert known_air(STATED, bare_pull()) == (STATED, ())


def test_a_channel_needs_no_head_of_a_file() -> None:
    pull = bare_pull()
    channels = {**pull.channels, Channel.AIR_PRESSURE: np.full(pull.rows.size, 98_000.0)}
    measured = Pull(name=pull.name, source=pull.source, direction=pull.direction, channels=channels, rows=pull.rows,
                    air=Air(pressure=99_200.0))  # fmt: skip
    assert known_air(NO_AIR, measured) == (NO_AIR, ())


@pytest.mark.parametrize("stated", [NO_AIR, Air(humidity=0.4)])
def test_what_the_file_does_not_state_stays_unknown(stated: Air) -> None:
    pull = bare_pull()
    less = Pull(name=pull.name, source=pull.source, direction=pull.direction, channels=pull.channels, rows=pull.rows,
                air=stated)  # fmt: skip
    assert known_air(NO_AIR, less)[0] == stated
