"""Files that were sent by mistake."""

from __future__ import annotations

import errno
import os
from typing import TYPE_CHECKING

import pytest

from pullbook.app.put_aside import put_aside
from pullbook.app.session_files import list_files
from pullbook.app.store_file import Upload
from pullbook.errors import FailureError, InputError

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "session.toml").write_text('[session]\ntitle = "T"\n')
    _send(tmp_path, b"1,2\n")
    return tmp_path


def _send(folder: Path, content: bytes) -> str:
    with Upload.open(folder, "a.csv") as upload:
        upload.write(content)
        return upload.finish().name


def test_a_file_that_is_put_aside_is_kept_and_may_come_again(folder: Path) -> None:
    assert put_aside(folder, "pulls/a.csv") == ".pullbook/removed/a.csv"
    assert list_files(folder) == []
    assert _send(folder, b"1,2\n") == "pulls/a.csv", "the same bytes are stored again"
    assert put_aside(folder, "pulls/a.csv") == ".pullbook/removed/a-2.csv"
    kept = sorted(path.name for path in (folder / ".pullbook/removed").iterdir())
    assert kept == ["a-2.csv", "a.csv"]


def test_a_file_in_the_run_order_stays(folder: Path) -> None:
    (folder / "session.toml").write_text('[[pull]]\nfile = "pulls/a.csv"\n')
    with pytest.raises(InputError, match="in the run order"):
        put_aside(folder, "pulls/a.csv")
    assert list_files(folder) == ["pulls/a.csv"]


def test_a_file_stays_while_the_session_file_cannot_be_read(folder: Path) -> None:
    (folder / "session.toml").write_text('[[pull]\nfile = "pulls/a.csv"\n')
    with pytest.raises(InputError, match="nobody can say"):
        put_aside(folder, "pulls/a.csv")
    assert list_files(folder) == ["pulls/a.csv"]


@pytest.mark.parametrize("name", ["session.toml", "../x", "pulls/b.csv", "pulls/../session.toml", "", "/etc/passwd"])
def test_only_a_file_of_the_list_can_be_put_aside(name: str, folder: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        put_aside(folder, name)
    assert (folder / "session.toml").is_file()


def test_a_file_that_cannot_be_moved_stays(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("pullbook.app.put_aside.move_to", full)
    with pytest.raises(FailureError, match="No space left"):
        put_aside(folder, "pulls/a.csv")
    assert list_files(folder) == ["pulls/a.csv"]
