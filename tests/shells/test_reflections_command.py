"""``pullbook simulate --reflections``: what comes back to each port, on the screen and as JSON."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import pytest
from engines import network_of

from pullbook.cli.main import _status
from pullbook.engine.templates import template_text
from pullbook.records.reflections import FAINTEST

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def single(tmp_path: Path) -> str:
    path = tmp_path / "engine.toml"
    path.write_text(template_text("single"), encoding="utf-8")
    return str(path)


def written(engine: str, capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    assert _status(["simulate", engine, "--at", "3000", "--no-grid-error", *options, "--json", "-"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert found["schema"] == "pullbook.simulation/1"
    return found


def test_the_table_tells_angle_share_wave_distance_and_place(single: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert _status(["simulate", single, "--at", "3000", "--reflections", "--no-grid-error"]) == 0
    out = capsys.readouterr().out
    assert "waves that come to the ports at 3000 rpm" in out
    opens = network_of("single").cylinders[0].valve_sets[1].opens_deg
    assert f"cylinder 1, exhaust: opens at {opens:.1f}, the blow-down sets out at" in out
    line = next(line for line in out.splitlines() if line.endswith("inlet of silencer 1, primary 1"))
    # The silencer begins 940 mm from the valves; the share of the long waves that turn there is about 4/9, as suction.
    assert re.fullmatch(r" +\d+\.\d +\d+\.\d +open +-0\.4\d +suction +940  inlet of silencer 1, primary 1", line)
    assert re.search(r"-0\.6\d\* suction +1350  open end of the tailpipe", out)
    assert "* through packing" in out


def test_lengths_are_in_inches_for_who_reads_inches(single: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["simulate", single, "--at", "3000", "--reflections", "--no-grid-error", "--units", "us"]
    assert _status(words) == 0
    assert re.search(r"37\.0  inlet of silencer 1, primary 1", capsys.readouterr().out)


def test_the_json_has_every_arrival_that_is_followed_and_nothing_new_where_it_was_not_asked_for(
    single: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "reflections" not in written(single, capsys)["engines"][0]["points"][0]
    found = written(single, capsys, "--reflections")
    assert found["units"]["distance"] == "m"
    intake, exhaust = found["engines"][0]["points"][0]["reflections"]
    assert (intake["side"], exhaust["side"], exhaust["cylinder"]) == ("intake", "exhaust", 1)
    assert exhaust["stopped"] == []
    places = {one["place"]: one for one in exhaust["arrivals"]}
    assert set(places) >= {"step in the primary", "inlet of silencer 1, primary 1", "open end of the tailpipe"}
    step = places["step in the primary"]
    # 40 to 43 mm, 323 mm from the valves; before it the port has widened from 38 to 40 mm.
    reflected = (40.0**2 - 43.0**2) / (40.0**2 + 43.0**2)
    port = (40.0 / 38.0) ** 2
    assert step["reflection"] == pytest.approx(reflected, rel=1e-6)
    assert step["coefficient"] == pytest.approx(reflected * 4.0 * port / (1.0 + port) ** 2, rel=1e-6)
    assert (step["distance"], step["way"]) == pytest.approx((0.323, 0.646))
    assert step["path"] == ["primary 1", "step in the primary", "primary 1"]
    assert step["kind"] == "step"
    assert step["wave"] == "suction"
    assert step["turned"] is True
    assert step["after_opening_deg"] == pytest.approx(step["own_angle_deg"] - exhaust["opens_deg"])
    assert step["travel_deg"] == pytest.approx(step["own_angle_deg"] - exhaust["front_deg"])
    assert all(abs(one["coefficient"]) >= FAINTEST for one in exhaust["arrivals"])


def test_reflections_want_one_speed(single: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert _status(["simulate", single, "--reflections"]) == 2
    assert "--reflections: reflections are those at one speed; add --at 2500" in capsys.readouterr().err


def test_a_picture_and_a_table_can_be_asked_for_together(
    single: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    goal = tmp_path / "waves.png"
    words = ["simulate", single, "--at", "3000", "--waves", str(goal), "--reflections", "--no-grid-error"]
    assert _status(words) == 0
    assert goal.read_bytes().startswith(b"\x89PNG")
    assert "cylinder 1, exhaust" in capsys.readouterr().out
