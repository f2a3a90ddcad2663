"""Files that are written whole or not at all."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from pullbook.app.whole_file import write_whole

if TYPE_CHECKING:
    from pathlib import Path


def test_a_file_is_replaced_when_the_new_one_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.json"
    write_whole(path, b"first")
    write_whole(path, b"old")
    assert path.read_bytes() == b"old"

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [found.name for found in tmp_path.iterdir()] == ["a.json"]


@pytest.mark.skipif(os.name != "posix", reason="permissions as they are here")
def test_a_new_file_has_the_permissions_asked_for_and_one_that_is_there_keeps_its_own(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    write_whole(path, b"1", mode=0o600)
    assert path.stat().st_mode & 0o777 == 0o600
    path.chmod(0o640)
    write_whole(path, b"2")
    assert (path.read_bytes(), path.stat().st_mode & 0o777) == (b"2", 0o640)


def test_a_folder_that_is_gone_is_an_error_and_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_whole(tmp_path / "none" / "a.json", b"1")
    assert list(tmp_path.iterdir()) == []
