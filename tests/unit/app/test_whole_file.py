"""Files that are written whole, by one writer at a time."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from typing import TYPE_CHECKING

import pytest

from pullbook.app.whole_file import only_writer, write_whole
from pullbook.errors import FailureError

if TYPE_CHECKING:
    from pathlib import Path


def test_a_file_is_replaced_when_the_new_one_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.json"
    write_whole(path, b"old", mode=0o600)
    if os.name == "posix":
        assert path.stat().st_mode & 0o777 == 0o600

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [found.name for found in tmp_path.iterdir()] == ["a.json"]


def test_threads_take_turns(tmp_path: Path) -> None:
    path = tmp_path / "count"
    path.write_text("0")

    def add() -> None:
        for _ in range(5):
            with only_writer(path):
                write_whole(path, str(int(path.read_text()) + 1).encode())

    threads = [threading.Thread(target=add) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert path.read_text() == "30"


def test_another_process_waits_its_turn_and_a_dead_one_holds_nobody_up(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    program = (
        "import sys, time; from pathlib import Path; from pullbook.app.whole_file import only_writer\n"
        "with only_writer(Path(sys.argv[1])):\n    print('mine', flush=True); time.sleep(60)"
    )
    with subprocess.Popen([sys.executable, "-c", program, str(path)], stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        assert other.stdout.readline().strip() == b"mine"
        with pytest.raises(FailureError, match="another program is writing"), only_writer(path, patience=0.1):
            pass
        other.kill()
        other.wait()
        with only_writer(path, patience=5.0):
            write_whole(path, b"mine")
    assert path.read_bytes() == b"mine"
