"""A folder that is replaced whole, whatever happens on the way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from pullbook.app.swap_folder import mend_folder, replace_folder
from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

CHILD = """
import sys
from pathlib import Path
from pullbook.app.swap_folder import replace_folder
goal = Path(sys.argv[1])
print("ready", flush=True)
names = [f"{n}.txt" for n in range(12)]
for turn in range(10_000):
    replace_folder(goal, [(name, f"{turn}".encode() * 2000) for name in names], ours=names)
"""


def test_old_files_of_ours_go_and_files_of_others_stay(tmp_path: Path) -> None:
    goal = tmp_path / "report"
    replace_folder(goal, [("a.txt", b"1"), ("stills/b.txt", b"2")], ours=[])
    (goal / "mine.txt").write_bytes(b"of somebody")
    written = replace_folder(goal, [("a.txt", b"3")], ours=["a.txt", "stills/b.txt"])
    assert written == [goal / "a.txt"]
    found = {path.relative_to(goal).as_posix(): path.read_bytes() for path in goal.rglob("*") if path.is_file()}
    assert found == {"a.txt": b"3", "mine.txt": b"of somebody"}
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def test_a_failure_on_the_way_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    goal = tmp_path / "report"
    replace_folder(goal, [("a.txt", b"1")], ours=[])

    def failing() -> Iterator[tuple[str, bytes]]:
        yield "a.txt", b"2"
        raise OSError(28, "No space left on device")

    with pytest.raises(FailureError, match="No space left"):
        replace_folder(goal, failing(), ours=["a.txt"])
    assert (goal / "a.txt").read_bytes() == b"1"
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def test_a_folder_that_was_left_aside_is_put_back(tmp_path: Path) -> None:
    (tmp_path / ".report-before").mkdir()
    (tmp_path / ".report-before" / "a.txt").write_bytes(b"1")
    mend_folder(tmp_path / "report")
    assert (tmp_path / "report" / "a.txt").read_bytes() == b"1"


@pytest.mark.skipif(sys.platform == "win32", reason="a process is killed by a signal")
def test_a_process_that_is_killed_at_any_moment_leaves_one_whole_folder(tmp_path: Path) -> None:
    goal = tmp_path / "report"
    for turn in range(30):
        child = subprocess.Popen([sys.executable, "-c", CHILD, str(goal)], stdout=subprocess.PIPE)
        assert child.stdout is not None
        child.stdout.readline()
        child.stdout.close()
        with pytest.raises(subprocess.TimeoutExpired):
            child.wait(0.004 * (turn % 10) + 0.002)
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        mend_folder(goal)
        texts = {path.read_bytes() for path in goal.glob("*.txt")} if goal.exists() else set()
        assert len(texts) <= 1, "files of two versions"
        assert not goal.exists() or len(list(goal.glob("*.txt"))) == 12
