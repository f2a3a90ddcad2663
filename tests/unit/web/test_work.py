"""What a worker makes is what the command makes, byte for byte."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Final

import pytest
from jobs_started import at_work
from session_folder import write_session

from pullbook.app.content_key import content_key
from pullbook.cli.main import app
from pullbook.errors import PullbookError
from pullbook.web.jobs import State, Task
from pullbook.web.work import KINDS, WARM

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

ASKED: Final[dict[str, tuple[dict[str, str], list[str]]]] = {
    "nothing": ({}, []),
    "a pair, windows and a standard": (
        {"of": "A", "from": "B", "window": "3000..4000,4500-5500 rpm", "standard": "iso 1585"},
        ["--of", "A", "--from", "B", "--window", "3000..4000", "--window", "4500-5500 rpm", "--standard", "iso 1585"],
    ),
    "us units": ({"units": "us"}, ["--units", "us"]),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A session of two builds."""
    return write_session(tmp_path_factory.mktemp("work") / "session")


@pytest.mark.parametrize("asked", ASKED)
def test_findings_of_a_worker_are_those_of_the_command_byte_for_byte(tmp_path: Path, folder: Path, asked: str) -> None:
    words, options = ASKED[asked]
    app(args=["compare", str(folder), "--json", str(tmp_path / "findings.json"), *options], standalone_mode=False)

    async def scene() -> Mapping[str, bytes]:
        async with at_work(tmp_path, work="pullbook.web.work") as jobs:
            key = content_key(folder, ["page", *words.values()])
            job = jobs.submit(Task(kind="page", arguments={"folder": str(folder), **words}, key=key))
            return await jobs.files(job)

    assert asyncio.run(scene())["findings.json"] == (tmp_path / "findings.json").read_bytes()


def test_a_refusal_of_a_worker_is_that_of_the_command(tmp_path: Path, folder: Path) -> None:
    with pytest.raises(PullbookError) as caught:
        app(args=["compare", str(folder), "--of", "X"], standalone_mode=False)

    async def scene() -> None:
        async with at_work(tmp_path, work="pullbook.web.work") as jobs:
            task = Task(kind="page", arguments={"folder": str(folder), "of": "X"})
            job = await jobs.wait(jobs.submit(task))
            assert job.state is State.FAILED
            error = caught.value
            assert job.error == {
                "what": error.what,
                "where": error.where.removeprefix("--"),
                "value": error.value,
                "remedy": error.remedy,
            }

    asyncio.run(scene())


def test_progress_of_a_comparison_names_the_files_that_are_read(folder: Path) -> None:
    said: list[str] = []

    class Watch:
        def step(self, doing: str, done: int, total: int) -> None:
            assert 0 <= done <= total
            said.append(doing)

    KINDS["page"].run(Watch(), folder=str(folder))
    assert "reading pulls/01-a.csv" in said
    assert said[-2:] == ["comparing", "drawing the page"]


def test_modules_that_a_worker_imports_in_advance_are_there() -> None:
    from importlib.util import find_spec

    assert [name for name in WARM if find_spec(name) is None] == []


def test_the_server_needs_no_heavy_library_for_its_jobs() -> None:
    import subprocess
    import sys

    script = (
        "import sys, pullbook.web.jobs, pullbook.web.work, pullbook.web.cache\n"
        "print(sorted({'numpy', 'scipy', 'jinja2', 'matplotlib', 'plotly', 'numba'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
