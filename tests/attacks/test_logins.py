from __future__ import annotations

import os
import stat
import sys
from typing import TYPE_CHECKING

import pytest

from pullbook.errors import FailureError
from pullbook.web.logins import Logins

if TYPE_CHECKING:
    from pathlib import Path


def aged(folder: Path, seconds: float) -> None:
    for path in folder.iterdir():
        used = path.stat().st_mtime_ns - int(seconds * 1e9)
        os.utime(path, ns=(used, used))


def test_a_login_ends_when_it_was_not_used_for_long(tmp_path: Path) -> None:
    logins = Logins(tmp_path, "hash", idle=100.0)
    word = logins.begin()
    aged(tmp_path, 99.0)
    assert logins.is_known(word)
    aged(tmp_path, 101.0)
    assert not logins.is_known(word)
    assert list(tmp_path.iterdir()) == []


def test_use_keeps_a_login_but_not_beyond_its_life(tmp_path: Path) -> None:
    logins = Logins(tmp_path, "hash", idle=100.0, life=250.0)
    word = logins.begin()
    (file,) = tmp_path.iterdir()
    of, began = file.read_text().split()
    assert logins.is_known(word)
    file.write_text(f"{of} {int(began) - 249 * 10**9}")
    assert logins.is_known(word)
    file.write_text(f"{of} {int(began) - 251 * 10**9}")
    assert not logins.is_known(word)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such modes")
def test_the_files_say_nothing_that_lets_somebody_in_and_are_the_user_s_alone(tmp_path: Path) -> None:
    logins = Logins(tmp_path / "logins", "secret-hash")
    word = logins.begin()
    (file,) = (tmp_path / "logins").iterdir()
    assert word not in file.name + file.read_text()
    assert "secret-hash" not in file.read_text()
    assert not logins.is_known(file.name)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "logins").stat().st_mode) == 0o700


@pytest.mark.parametrize("content", ["", "x", "a b c", "hash 12", "\x00" * 10_000])
def test_a_damaged_file_lets_nobody_in(tmp_path: Path, content: str) -> None:
    logins = Logins(tmp_path, "hash")
    word = logins.begin()
    (file,) = tmp_path.iterdir()
    file.write_text(content)
    assert not logins.is_known(word)


def test_only_so_many_logins_are_kept_and_the_oldest_go(tmp_path: Path) -> None:
    logins = Logins(tmp_path, "hash")
    first = logins.begin()
    aged(tmp_path, 10.0)
    words = [logins.begin() for _ in range(500)]
    assert not logins.is_known(first)
    assert all(logins.is_known(word) for word in words)
    assert len(list(tmp_path.iterdir())) == 500


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FailureError, match="the login cannot be kept"):
        Logins(tmp_path / "file" / "logins", "hash").begin()
