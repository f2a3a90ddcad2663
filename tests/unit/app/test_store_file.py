"""Uploads: whole, once, under our own name, and nothing left behind otherwise."""

from __future__ import annotations

import errno
import hashlib
import os
import subprocess
import sys
import threading
import time
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from pullbook.app import store_file, upload_scratch
from pullbook.app.store_file import StoredFile, Upload
from pullbook.app.upload_scratch import sweep_uploads
from pullbook.errors import FailureError, FileRefusedError, PullbookError, SessionFileError

if TYPE_CHECKING:
    from pathlib import Path


def _store(folder: Path, name: str, content: bytes, **options: Any) -> StoredFile:
    with Upload.open(folder, name, **options) as upload:
        for at in range(0, len(content), 7):
            upload.write(content[at : at + 7])
        return upload.finish()


def _files(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_a_file_lies_in_pulls_with_its_bytes_and_their_hash(tmp_path: Path) -> None:
    content = bytes(range(256)) * 5
    stored = _store(tmp_path, "../Run 1.csv", content, expected=len(content))
    assert stored.name == "pulls/Run-1.csv"
    assert (tmp_path / stored.name).read_bytes() == content
    assert (stored.size, stored.sha256, stored.already) == (1280, hashlib.sha256(content).hexdigest(), False)
    assert _files(tmp_path) == ["pulls/Run-1.csv"]
    assert stored.as_json()["says"] == "'Run 1.csv' is stored as pulls/Run-1.csv"


def test_the_same_bytes_are_stored_once_and_the_file_that_is_there_is_named(tmp_path: Path) -> None:
    (tmp_path / "old place").mkdir()
    (tmp_path / "old place/first.csv").write_bytes(b"1,2\n3,4\n")
    (tmp_path / "old place/other.csv").write_bytes(b"1,2\n3,5\n")
    again = _store(tmp_path, "b.csv", b"1,2\n3,4\n")
    assert (again.name, again.already) == ("old place/first.csv", True)
    assert "not stored again" in again.says
    assert _files(tmp_path) == ["old place/first.csv", "old place/other.csv"]


def test_a_file_that_was_changed_since_is_read_anew(tmp_path: Path) -> None:
    first = _store(tmp_path, "a.csv", b"1,2\n")
    assert _store(tmp_path, "b.csv", b"1,2\n").already
    path = tmp_path / first.name
    path.write_bytes(b"9,9\n")
    os.utime(path, ns=(1, 1))
    assert _store(tmp_path, "c.csv", b"1,2\n").name == "pulls/c.csv"


def test_another_file_of_the_same_name_gets_a_number(tmp_path: Path) -> None:
    names = [_store(tmp_path, "a.csv", content).name for content in (b"1\n", b"2\n", b"3\n")]
    assert names == ["pulls/a.csv", "pulls/a-2.csv", "pulls/a-3.csv"]
    assert _store(tmp_path, "A.CSV", b"4\n").name == "pulls/A-4.csv", "some systems do not tell the cases apart"


def test_a_file_longer_than_the_limit_is_refused_at_once_and_leaves_nothing(tmp_path: Path) -> None:
    upload = Upload.open(tmp_path, "big.csv", limit=10)
    upload.write(b"12345")
    with pytest.raises(FileRefusedError, match="larger than"):
        upload.write(b"678901")
    assert _files(tmp_path) == []
    with pytest.raises(FileRefusedError, match="larger than"):
        Upload.open(tmp_path, "big.csv", limit=10, expected=11)
    assert _files(tmp_path) == []


@pytest.mark.parametrize(("content", "expected", "says"), [(b"", None, "empty"), (b"123", 4, "only 3 of 4 bytes")])
def test_an_empty_or_cut_upload_is_refused_and_leaves_nothing(
    content: bytes, expected: int | None, says: str, tmp_path: Path
) -> None:
    with pytest.raises(FileRefusedError, match=says):
        _store(tmp_path, "a.csv", content, expected=expected)
    assert _files(tmp_path) == []


def test_an_upload_that_is_given_up_leaves_nothing(tmp_path: Path) -> None:
    with Upload.open(tmp_path, "a.csv") as upload:
        upload.write(b"1,2\n")
    assert _files(tmp_path) == []
    with pytest.raises(ValueError, match="over"):
        upload.write(b"more")
    with pytest.raises(ValueError, match="over"):
        upload.finish()


def test_a_full_disk_is_one_sentence_and_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FailureError) as caught:
        _store(tmp_path, "a.csv", b"1,2\n")
    assert str(caught.value) == (
        "a.csv: the disk is full; make room on it and send the file again; nothing was stored."
    )
    assert _files(tmp_path) == []


def test_a_disk_without_room_for_what_is_announced_is_refused_before_the_first_byte(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_file, "free_bytes", lambda _: 11_000_000)
    with pytest.raises(FailureError, match="the disk is full"):
        Upload.open(tmp_path, "a.csv", expected=2_000_000)
    assert _files(tmp_path) == []
    assert _store(tmp_path, "a.csv", b"12", expected=2).name == "pulls/a.csv"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="permissions do not bind this user")
def test_a_folder_that_cannot_be_written_to_is_one_sentence(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(FailureError, match="cannot be stored"):
            Upload.open(tmp_path, "a.csv")
    finally:
        tmp_path.chmod(0o700)


def test_a_session_folder_that_vanishes_is_named_as_such(tmp_path: Path) -> None:
    with pytest.raises(SessionFileError, match="the session folder is gone"):
        Upload.open(tmp_path / "none", "a.csv")
    session = tmp_path / "s"
    session.mkdir()
    upload = Upload.open(session, "a.csv")
    upload.write(b"1,2\n")
    session.rename(tmp_path / "elsewhere")
    with pytest.raises(FailureError, match="the session folder is gone"):
        upload.finish()
    assert not session.exists(), "it is not made again"


def test_a_pulls_folder_that_is_a_link_out_of_the_session_is_refused(tmp_path: Path) -> None:
    session, outside = tmp_path / "s", tmp_path / "outside"
    session.mkdir()
    outside.mkdir()
    (session / "pulls").symlink_to(outside)
    with pytest.raises(PullbookError, match="outside the session folder"):
        _store(session, "a.csv", b"1,2\n")
    (session / ".pullbook").rename(tmp_path / "hidden")
    (session / ".pullbook").symlink_to(outside)
    with pytest.raises(PullbookError, match="outside the session folder"):
        Upload.open(session, "a.csv")
    assert _files(outside) == []


def test_a_disk_without_hard_links_never_replaces_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", none)
    assert [_store(tmp_path, "a.csv", content).name for content in (b"1", b"2")] == ["pulls/a.csv", "pulls/a-2.csv"]
    (tmp_path / "scratch").write_bytes(b"3")
    assert not upload_scratch.move_to(tmp_path / "scratch", tmp_path / "pulls/a.csv")
    assert (tmp_path / "pulls/a.csv").read_bytes() == b"1"


def test_many_at_once_get_a_name_each_and_the_same_content_one(tmp_path: Path) -> None:
    found: list[StoredFile] = []

    def send(number: int) -> None:
        found.append(_store(tmp_path, "run.csv", f"{number % 20}\n".encode()))

    threads = [threading.Thread(target=send, args=(number,)) for number in range(40)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({stored.name for stored in found}) == 20
    assert sum(stored.already for stored in found) == 20
    assert len(_files(tmp_path)) == 20
    assert all(hashlib.sha256((tmp_path / one.name).read_bytes()).hexdigest() == one.sha256 for one in found)


def test_what_a_killed_upload_left_is_swept_and_a_running_one_is_not(tmp_path: Path) -> None:
    running = Upload.open(tmp_path, "a.csv")
    running.write(b"1,2\n")
    left = tmp_path / ".pullbook/uploads/0123.part"
    left.write_bytes(b"half")
    assert sweep_uploads(tmp_path) == 0
    os.utime(left, (1e9, 1e9))
    assert sweep_uploads(tmp_path) == 1
    assert running.finish().name == "pulls/a.csv"
    left.write_bytes(b"half")
    os.utime(left, (1e9, 1e9))
    _store(tmp_path, "b.csv", b"3,4\n")
    assert _files(tmp_path) == ["pulls/a.csv", "pulls/b.csv"]
    assert sweep_uploads(tmp_path / "none") == 0


def test_a_long_or_hostile_name_is_short_and_plain_in_what_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileRefusedError) as caught:
        _store(tmp_path, "a/" + "<b>\n" * 100 + ".csv", b"")
    assert "\n" not in str(caught.value)
    assert len(caught.value.where) <= 80


@pytest.mark.slow
def test_a_program_that_is_killed_at_any_moment_leaves_whole_files_only(tmp_path: Path) -> None:
    program = (
        "import hashlib, sys; from pathlib import Path; from pullbook.app.store_file import Upload\n"
        "for number in range(10**6):\n"
        "    body = f'{sys.argv[2]} {number} '.encode() * 5000\n"
        "    with Upload.open(Path(sys.argv[1]), 'run.csv') as upload:\n"
        "        for at in range(0, len(body), 4096): upload.write(body[at:at + 4096])\n"
        "        upload.write(hashlib.sha256(body).hexdigest().encode()); upload.finish()\n"
        "    print(flush=True)"
    )
    rng = np.random.default_rng(4)
    for run in range(12):
        with subprocess.Popen(
            [sys.executable, "-c", program, str(tmp_path), f"{run}"], stdout=subprocess.PIPE
        ) as process:
            assert process.stdout is not None
            process.stdout.readline()
            time.sleep(float(rng.uniform(0.0, 0.05)))
            process.kill()
    stored = [path.read_bytes() for path in (tmp_path / "pulls").iterdir()]
    assert len(stored) >= 12
    assert all(hashlib.sha256(content[:-64]).hexdigest().encode() == content[-64:] for content in stored)
    parts = tmp_path / ".pullbook/uploads"
    for path in parts.iterdir():
        os.utime(path, (1e9, 1e9))
    sweep_uploads(tmp_path)
    assert list(parts.iterdir()) == []
