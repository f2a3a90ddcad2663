"""Correcting real repeats of a turbo-diesel on rollers: the air of the file, the refusals, the gear changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.capture.mapping import understand
from pullbook.capture.reader import read_tables
from pullbook.capture.segment import find_pulls
from pullbook.correct.apply import correct_pull
from pullbook.correct.inertia import acceleration_of
from pullbook.curves.derivative import local_slope, slope_bandwidth
from pullbook.errors import InputError
from pullbook.quantities.channels import Channel
from pullbook.records.build import Engine, Ignition, Induction
from pullbook.records.declaration import Air, Standard

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.records.pull import Pull

NAME = "three-full-throttle-repeats.txt"
CELL = Air(pressure=29.0 * 3386.389)  # the laboratory's summary sheet says 29 inHg, rounded
TURBO_DIESEL = Engine(
    ignition=Ignition.COMPRESSION,
    induction=Induction.TURBOCHARGED_AIR_COOLED,
    displacement=0.002,
    boost_controlled=True,
)


@pytest.fixture(scope="module")
def pulls(shared_data: Path) -> tuple[Pull, ...]:
    contents = read_tables((shared_data / "roller-wot-repeats" / NAME).read_bytes(), NAME)
    return find_pulls(understand(contents.source, contents.tables[0]), NAME).pulls


@pytest.mark.parametrize(
    "standard", [Standard.SAE_J1349, Standard.SAE_J607, Standard.ISO_1585, Standard.DIN_70020, Standard.JIS_D1001]
)
def test_spark_ignition_corrections_decline_the_turbo_diesel(pulls: tuple[Pull, ...], standard: Standard) -> None:
    for pull in pulls:
        with pytest.raises(InputError, match="this one is a diesel") as declined:
            correct_pull(pull, air=CELL, engine=TURBO_DIESEL, standard=standard)
        assert 'use standard = "ISO 1585 diesel"' in str(declined.value)


def test_diesel_correction_asks_for_the_manifold_pressure_that_the_laboratory_did_not_record(
    pulls: tuple[Pull, ...],
) -> None:
    with pytest.raises(InputError, match="map a column to manifold_pressure"):
        correct_pull(pulls[0], air=CELL, engine=TURBO_DIESEL, standard=Standard.ISO_1585_DIESEL)


def test_temperature_and_humidity_come_from_the_file_and_pressure_from_the_summary_sheet(
    pulls: tuple[Pull, ...],
) -> None:
    # As if it were a spark-ignition engine, to see the air: the cell warms from pull to pull.
    results = [correct_pull(pull, air=CELL, engine=Engine(), standard=Standard.SAE_J1349) for pull in pulls]
    steps = [{step.name: step for step in result.steps} for result in results]
    assert [step["air pressure"].source for step in steps] == ["as given for the pull"] * 3
    assert all("the file's channel" in step["air temperature"].source for step in steps)
    warmer = np.diff([step["air temperature"].value for step in steps])
    assert np.all(warmer > 1.0)
    for pull, step in zip(pulls, steps, strict=True):
        median = float(np.median(pull.channels[Channel.AIR_TEMPERATURE]))
        assert step["air temperature"].value == pytest.approx(median, rel=1e-12)


def test_sweep_rate_keeps_its_sign_beside_the_gear_changes(pulls: tuple[Pull, ...]) -> None:
    # Rows of the gear changes are left out; one derivative across them shows the engine slowing by 120 to 150 rpm/s in
    # pulls 2 and 3, measured with `local_slope` over the whole pull.
    for pull in pulls[1:]:
        time, speed = pull.channels[Channel.TIME], pull.channels[Channel.SPEED]
        assert np.nanmin(local_slope(time, speed, slope_bandwidth(time, speed))) < -100.0
        rate = acceleration_of(pull).sweep_rate
        assert np.isfinite(rate).all()
        assert np.min(rate) > 0.0
