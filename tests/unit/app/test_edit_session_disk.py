"""What the disk does to the session file: former texts, permissions, links, a full disk, a folder that is gone."""

from __future__ import annotations

import os
import threading
from typing import TYPE_CHECKING, Any

import pytest
from session_texts import SMALL

from pullbook.app.edit_session import apply_edits, open_draft, replace_text
from pullbook.capture.session_edit import Edit
from pullbook.errors import FailureError, InputError, PullbookError, SessionFileError

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_with(tmp_path / "one", SMALL)


def folder_with(folder: Path, text: str) -> Path:
    folder.mkdir()
    (folder / "session.toml").write_bytes(text.encode())
    return folder


def text_of(folder: Path) -> str:
    return (folder / "session.toml").read_bytes().decode()


def test_former_texts_are_kept_and_of_many_the_last_hundred(folder: Path) -> None:
    history = folder / ".pullbook" / "history"
    for number in range(103):
        apply_edits(folder, [Edit("set", "session.title", f"Header {number}")])
    kept = sorted(history.iterdir())
    assert len(kept) == 100
    assert 'title = "Header 2"' in kept[0].read_text("utf-8")
    assert 'title = "Header 101"' in kept[-1].read_text("utf-8")


def test_an_edit_that_changes_nothing_writes_nothing(folder: Path) -> None:
    before = (folder / "session.toml").stat().st_mtime_ns
    apply_edits(folder, [Edit("set", "session.title", "One header")])
    assert (folder / "session.toml").stat().st_mtime_ns == before
    assert not (folder / ".pullbook" / "history").exists()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_permissions_of_the_file_stay_as_they_are(folder: Path) -> None:
    (folder / "session.toml").chmod(0o640)
    apply_edits(folder, [Edit("set", "session.title", "Two headers")])
    assert (folder / "session.toml").stat().st_mode & 0o777 == 0o640


def test_a_folder_that_has_vanished_is_said_in_one_sentence_and_not_made_again(folder: Path) -> None:
    (folder / "session.toml").unlink()
    with pytest.raises(SessionFileError, match=r"has no session\.toml"):
        apply_edits(folder, [Edit("set", "session.title", "x")])
    for path in sorted(folder.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink()
    folder.rmdir()
    with pytest.raises(PullbookError) as edited:
        apply_edits(folder, [Edit("set", "session.title", "x")])
    with pytest.raises(PullbookError) as replaced:
        replace_text(folder, SMALL, revision="")
    with pytest.raises(PullbookError) as opened:
        open_draft(folder)
    assert not any("\n" in str(caught.value) for caught in (edited, replaced, opened))
    assert not folder.exists()


def test_a_full_disk_leaves_the_file_as_it_was_and_nothing_behind(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FailureError, match="No space left on device") as caught:
        apply_edits(folder, [Edit("set", "session.title", "x")])
    assert "what was there is unchanged" in caught.value.remedy
    monkeypatch.undo()
    assert text_of(folder) == SMALL
    assert [path.name for path in folder.rglob("*") if path.is_file()] in (
        ["session.toml", "lock"],
        ["lock", "session.toml"],
    )


def test_a_session_file_that_is_a_link_to_elsewhere_is_not_written(folder: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.toml"
    outside.write_text(SMALL, "utf-8")
    (folder / "session.toml").unlink()
    (folder / "session.toml").symlink_to(outside)
    with pytest.raises(InputError, match="outside the session folder"):
        apply_edits(folder, [Edit("set", "session.title", "x")])
    assert outside.read_text("utf-8") == SMALL


def test_a_folder_of_ours_that_is_a_link_to_elsewhere_is_not_written_into(folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (folder / ".pullbook").symlink_to(elsewhere)
    with pytest.raises(InputError, match="outside the session folder"):
        apply_edits(folder, [Edit("set", "session.title", "x")])
    assert list(elsewhere.iterdir()) == []


def test_a_huge_file_is_no_session_file(folder: Path) -> None:
    with (folder / "session.toml").open("r+b") as stream:
        stream.truncate(11_000_000)
    with pytest.raises(SessionFileError, match="11 MB"):
        open_draft(folder)


def test_writers_of_many_threads_take_turns(folder: Path) -> None:
    def write(number: int) -> None:
        for count in range(5):
            apply_edits(folder, [Edit("add", "pull", {"build": "A", "file": f"pulls/{number}-{count}.csv"})])

    threads = [threading.Thread(target=write, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    draft = open_draft(folder)
    assert draft.session is not None
    assert len(draft.session.pulls) == 2 + 30
