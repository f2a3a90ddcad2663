"""Routes about findings: the numbers of the command line, kept results, switches, jobs, the report."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from typing import TYPE_CHECKING, Any

import pytest
from unit_web import write_session

if TYPE_CHECKING:
    from pathlib import Path

    from unit_web import Asking


@pytest.fixture(scope="module")
def ready(asking: Asking) -> tuple[str, Path]:
    """Id and folder of a session that can be compared."""
    folder = write_session(asking.root)
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == "ready")
    return session, folder


def command(folder: Path, *options: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "pullbook", "compare", str(folder), "--json", "-", *options],
        capture_output=True, text=True, check=True, encoding="utf-8",
    )  # fmt: skip
    return done.stdout


@pytest.mark.parametrize(
    ("query", "options"),
    [
        ("", ()),
        ("?of=B&from=A&window=2500..3500,4000..5000", ("--of", "B", "--from", "A", "--window", "2500..3500", "--window", "4000..5000")),  # noqa: E501 - one case
        ("?standard=ISO+1585", ("--standard", "ISO 1585")),
        ("?from=B&units=us", ("--from", "B")),
    ],
)  # fmt: skip
def test_the_findings_are_those_of_the_command_line_byte_for_byte(
    asking: Asking, ready: tuple[str, Path], query: str, options: tuple[str, ...]
) -> None:
    session, folder = ready
    assert asking.get(f"/api/sessions/{session}/findings{query}").text == command(folder, *options)


def test_the_page_prints_the_numbers_of_the_command_line(asking: Asking, ready: tuple[str, Path]) -> None:
    session, folder = ready
    asking.get(f"/api/sessions/{session}/findings")
    page = asking.get(f"/s/{session}").text
    done = subprocess.run(
        [sys.executable, "-m", "pullbook", "compare", str(folder)], capture_output=True, text=True, check=True,
        encoding="utf-8",
    )  # fmt: skip
    windows = [json.loads(command(folder))["differences"][0]["windows"]]
    assert windows
    claim = next(line.strip() for line in done.stdout.splitlines() if "at least 2 N m" in line)
    assert claim
    assert "The 4-2-1 header is worth at least 2" in page.replace('<span class="nb">4-2-1</span>', "4-2-1")


def test_a_wrong_question_is_refused_before_any_work(asking: Asking, ready: tuple[str, Path]) -> None:
    session, _ = ready
    for query, where in (("?standard=SAE+1", "standard"), ("?window=3000..2000", "window"), ("?of=Z", "of")):
        answer = asking.get(f"/api/sessions/{session}/findings{query}")
        assert answer.status_code in {422, 500}, answer.text
        assert answer.json()["where"] == where


def test_a_result_that_is_kept_is_given_again_and_may_be_kept_by_the_browser(
    asking: Asking, ready: tuple[str, Path]
) -> None:
    session, _ = ready
    begun = asking.post(f"/api/sessions/{session}/compare", {}).json()
    asking.get(f"/api/sessions/{session}/findings")
    again = asking.post(f"/api/sessions/{session}/compare", {}).json()
    assert again["key"] == begun["key"]
    assert again["job"]["state"] == "done"
    chart = asking.get(f"/api/results/{begun['key']}/chart-torque.json")
    assert chart.status_code == 200
    assert "immutable" in chart.headers["cache-control"]
    assert chart.json()["data"]
    tag = chart.headers["etag"]
    same = asking.client.get(f"/api/results/{begun['key']}/chart-torque.json", headers={"If-None-Match": tag})
    assert same.status_code == 304


def test_a_result_that_nobody_has_is_not_there(asking: Asking) -> None:
    for name in (f"{'0' * 64}/findings.json", "..%2f..%2fetc/passwd", f"{'0' * 64}/..%2fcontent.json"):
        assert asking.get(f"/api/results/{name}").status_code == 404


def test_a_change_of_a_file_gives_another_result(asking: Asking) -> None:
    folder = write_session(asking.root, "changing")
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == "changing")
    first = asking.post(f"/api/sessions/{session}/compare", {}).json()["key"]
    path = folder / "pulls" / "b2.csv"
    path.write_text(path.read_text("utf-8").replace("100.0\n", "99.9\n", 1), "utf-8")
    assert asking.post(f"/api/sessions/{session}/compare", {}).json()["key"] != first


def test_a_report_is_drawn_up_where_only_the_tester_sees_it_and_published_whole(
    asking: Asking, ready: tuple[str, Path]
) -> None:
    session, folder = ready
    assert asking.post(f"/api/sessions/{session}/publish", {}).status_code == 422
    job = asking.post(f"/api/sessions/{session}/report", {"quick": True}).json()["job"]
    state = finished(asking, job["id"])
    assert state["state"] == "done", state
    assert not (folder / "report").exists()
    listed = asking.get(f"/api/sessions/{session}/report").json()
    names = [file["name"] for file in listed["drawn_up"]["files"]]
    assert {"report.html", "findings.json", "curves.csv"} <= set(names)
    assert listed["published"] is None
    seen = asking.get(f"/s/{session}/draft-report/report.html")
    policy = seen.headers["content-security-policy"]
    assert "sandbox" in policy
    assert "default-src 'none'" in policy
    assert "allow-same-origin" not in policy
    published = asking.post(f"/api/sessions/{session}/publish", {})
    assert published.status_code == 200
    assert sorted(
        path.relative_to(folder / "report").as_posix() for path in (folder / "report").rglob("*.*")
    ) == sorted(names)
    assert (folder / "report" / "report.html").read_bytes() == seen.content
    assert (folder / "report" / "findings.json").read_text("utf-8") == command(folder)


def test_a_file_that_the_report_does_not_list_is_not_given(asking: Asking, ready: tuple[str, Path]) -> None:
    session, _ = ready
    for name in ("session.toml", "../session.toml", "..%2fsession.toml", "contents.json", "stills"):
        assert asking.get(f"/s/{session}/draft-report/{name}").status_code == 404


def test_a_session_without_weather_says_so_and_where_it_is_written(asking: Asking) -> None:
    folder = write_session(asking.root, "no weather")
    file = folder / "session.toml"
    lines = file.read_text("utf-8").splitlines()
    file.write_text("\n".join(line for line in lines if not line.startswith("air")) + "\n", "utf-8")
    session = next(one["id"] for one in asking.get("/api/sessions").json()["sessions"] if one["name"] == folder.name)
    refused = asking.get(f"/api/sessions/{session}/findings")
    assert refused.status_code == 422
    assert "of the inlet air is not known" in refused.json()["what"]
    page = asking.get(f"/s/{session}").text
    assert 'href="#air-pressure"' in page
    assert 'id="air-pressure"' in page


def test_a_job_that_is_not_there_is_told(asking: Asking) -> None:
    assert asking.get("/api/jobs/0").status_code == 404
    assert asking.client.delete("/api/jobs/0").status_code == 404


def finished(asking: Asking, job: str) -> dict[str, Any]:
    """State of a job when it is over."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        state: dict[str, Any] = asking.get(f"/api/jobs/{job}").json()
        if state["state"] not in {"waiting", "running"}:
            return state
        time.sleep(0.05)
    raise AssertionError("the job is not over")
