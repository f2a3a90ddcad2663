"""A plan on the page that earlier sessions teach: it gives what the command gives, and stays as it was asked for."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from planned_web import ASKED, begin_run, over, section, text_of, write_builds
from session_folder import write_session
from starlette.testclient import TestClient
from unit_web import Asking

from pullbook.cli.main import _status
from pullbook.web.application import make_app
from pullbook.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

EARLIER = ("ABAB", "ABBA", "AABB")
QUESTION: dict[str, str | bool] = {**ASKED, "archive": True}


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """An archive of three sessions."""
    root = tmp_path_factory.mktemp("earlier")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("CACHE", "CONFIG", "DATA"):
            patch.setenv(f"PULLBOOK_{name}_HOME", str(root / name.lower()))
        patch.setenv("PULLBOOK_USER", "tester")
        patch.delenv("PULLBOOK_ARCHIVE", raising=False)
        for seed, order in enumerate(EARLIER):
            remember(root / f"s{seed}", str(root / "archive.sqlite"), order, seed)
        yield root / "archive.sqlite"


@pytest.fixture
def place(filled: Path, tmp_path: Path) -> str:
    """A copy of it that a test may change."""
    return str(shutil.copy(filled, tmp_path / "archive.sqlite"))


@pytest.fixture
def asking(place: str, tmp_path: Path) -> Iterator[Asking]:
    """A notebook beside that archive."""
    yield from notebook(tmp_path / "sessions", place)


def remember(folder: Path, place: str, order: str, seed: int) -> None:
    assert _status(["remember", str(write_session(folder, order, seed=seed)), "--archive", place]) == 0


def notebook(root: Path, place: str) -> Iterator[Asking]:
    root.mkdir()
    settings = Settings(root=root, port=8420, archive=place)
    headers = {"X-Pullbook-Token": settings.token}
    with TestClient(make_app(settings), base_url="http://127.0.0.1:8420", headers=headers) as client:
        yield Asking(client, root)


def by_command(folder: Path, to: Path, *options: str) -> bytes:
    words = ["plan", str(folder), "--resolve", ASKED["resolve"], "--json", str(to), *options]
    assert _status(words) == 0
    return to.read_bytes()


def test_a_taught_plan_is_that_of_the_command_byte_for_byte(asking: Asking, place: str, tmp_path: Path) -> None:
    session, folder = write_builds(asking, "planned")
    told = {
        taught: asking.client.get(f"/api/sessions/{session}/plan", params={**ASKED, "archive": taught})
        for taught in (False, True)
    }
    wanted = by_command(folder, tmp_path / "taught.json", "--within", ASKED["within"], "--archive", place)
    assert told[True].content == wanted
    assert told[False].content == by_command(folder, tmp_path / "plain.json", "--within", ASKED["within"])
    assert "learnt from three earlier sessions" in told[True].json()["scatter"]["source"]


def test_a_taught_plan_stays_on_the_page_and_is_taken_though_the_archive_has_grown(
    asking: Asking, place: str, tmp_path: Path
) -> None:
    session, folder = write_builds(asking, "taken")
    assert "learnt from the archive</option>" in section(asking, session, "plan")
    begun = asking.post(f"/api/sessions/{session}/plan", QUESTION).json()
    assert over(asking, begun["job"])["state"] == "done"
    page = section(asking, session, "plan")
    assert "selected>learnt from the archive" in page
    assert "three earlier sessions" in page.replace("\u00a0", " ")
    remember(tmp_path / "another", place, "BABA", 9)
    assert section(asking, session, "plan") == page
    revision = asking.get(f"/api/sessions/{session}").json()["revision"]
    taken = asking.post(f"/api/sessions/{session}/take-order", {**QUESTION, "offer": "surest", "revision": revision})
    assert taken.status_code == 200, taken.text
    assert text_of(folder).count("[[pull]]") > 3
    # Asked for again, it is made again, because the archive knows more.
    again = asking.post(f"/api/sessions/{session}/plan", QUESTION).json()
    assert again["key"] != begun["key"]


def test_a_look_on_the_way_may_be_taught_too(asking: Asking) -> None:
    session, folder = write_builds(asking, "looked")
    begin_run(folder, 4)
    asked: dict[str, str | bool] = {"resolve": "9 N m", "archive": True}
    begun = asking.post(f"/api/sessions/{session}/next", asked).json()
    assert over(asking, begun["job"])["state"] == "done"
    seen = asking.client.get(f"/api/sessions/{session}/next", params=asked)
    assert any("earlier sessions" in one for one in seen.json()["assumptions"])
    untaught = asking.client.get(f"/api/sessions/{session}/next", params={"resolve": "9 N m"})
    assert untaught.json()["what"] == "nobody has looked at the session as it stands"


def test_where_there_is_no_archive_the_page_does_not_offer_one_and_a_plan_that_wants_one_says_so(
    place: str, tmp_path: Path
) -> None:
    for asking in notebook(tmp_path / "alone", f"{place}.none"):
        session, _ = write_builds(asking, "alone")
        assert "archive" not in section(asking, session, "plan")
        job = over(asking, asking.post(f"/api/sessions/{session}/plan", QUESTION).json()["job"])
        assert (job["state"], job["error"]["what"]) == ("failed", "there is no archive yet")
