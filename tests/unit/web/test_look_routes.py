"""Routes about a look on the way: it is that of the command, and it is written into the session."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from plan_cases import PLAIN
from planned_web import ASKED, TERMS, begin_run, over, section, text_of, write_builds
from session_folder import pull_text

from pullbook.cli.main import app

if TYPE_CHECKING:
    from pathlib import Path

    from unit_web import Asking


@pytest.fixture
def own(asking: Asking) -> tuple[str, Path]:
    """A session of a test's own with two builds and no pulls, and its folder."""
    return write_builds(asking, f"planned-{sum(1 for _ in asking.root.iterdir())}")


def looked(asking: Asking, session: str) -> dict[str, Any]:
    """How a look that was asked for ended."""
    begun = asking.post(f"/api/sessions/{session}/next", {"resolve": ASKED["resolve"]})
    assert begun.status_code == 202, begun.text
    return over(asking, begun.json()["job"])


def test_a_look_is_that_of_the_command_and_is_written_into_the_session(
    asking: Asking, own: tuple[str, Path], tmp_path: Path
) -> None:
    session, folder = own
    begin_run(folder, made=4)
    address = f"/api/sessions/{session}/next"
    early = asking.client.get(address, params={"resolve": ASKED["resolve"]})
    assert (early.status_code, early.json()["remedy"]) == (404, "look first")
    assert "looks" not in text_of(folder)
    assert "A look is written into session.toml" in asking.get(f"/s/{session}").text
    assert looked(asking, session)["state"] == "done"
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6"]
    seen = asking.client.get(address, params={"resolve": ASKED["resolve"]})
    options = ["--next", "--resolve", ASKED["resolve"], "--json", str(tmp_path / "next.json")]
    app(args=["plan", str(folder), *options], standalone_mode=False)
    assert seen.content == (tmp_path / "next.json").read_bytes()
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6"]
    part = section(asking, session, "what-next")
    assert "4 of 6 planned pulls made" in part
    assert section(asking, session, "what-next") == part


def test_a_look_that_was_taken_out_of_the_file_is_written_again_and_another_pull_asks_for_another(
    asking: Asking, own: tuple[str, Path]
) -> None:
    session, folder = own
    begin_run(folder, made=4)
    text = text_of(folder)
    looked(asking, session)
    (folder / "session.toml").write_text(text, encoding="utf-8")
    assert "Look now" in asking.get(f"/s/{session}").text
    assert looked(asking, session)["state"] == "done"
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6"]
    rng = np.random.default_rng(12)
    (folder / "pulls" / "a3.csv").write_text(pull_text(rng), encoding="utf-8")
    assert "Look now" in asking.get(f"/s/{session}").text
    assert looked(asking, session)["state"] == "done"
    assert tomllib.loads(text_of(folder))["plan"]["looks"] == ["4 of 6", "5 of 6"]


def test_a_look_at_a_session_without_a_run_order_says_how_to_get_one(asking: Asking, own: tuple[str, Path]) -> None:
    session, folder = own
    job = looked(asking, session)
    assert job["state"] == "failed"
    assert job["error"]["remedy"] == "press Take this order under a plan first"
    assert text_of(folder) == PLAIN + TERMS
