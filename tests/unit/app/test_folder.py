"""Files in and out: whole or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pullbook.app import folder as folder_module
from pullbook.app.folder import inside, read_bytes, read_session_text, write_folder
from pullbook.errors import FailureError, FileRefusedError, InputError, SessionFileError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def test_a_new_folder_gets_every_file(tmp_path: Path) -> None:
    written = write_folder(tmp_path / "new", [("a.txt", b"1"), ("deep/b.txt", b"2")], replace=False)
    assert [path.read_bytes() for path in written] == [b"1", b"2"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new"], "no scratch folder stays"


def test_files_that_are_there_and_not_written_stay(tmp_path: Path) -> None:
    (tmp_path / "goal").mkdir()
    (tmp_path / "goal/mine.txt").write_text("mine")
    write_folder(tmp_path / "goal", [("a.txt", b"1")], replace=True)
    assert (tmp_path / "goal/mine.txt").read_text() == "mine"
    assert (tmp_path / "goal/a.txt").read_text() == "1"


def test_a_source_that_fails_halfway_leaves_everything_as_it_was(tmp_path: Path) -> None:
    def files() -> Iterator[tuple[str, bytes]]:
        yield "a.txt", b"new"
        raise KeyboardInterrupt

    (tmp_path / "goal").mkdir()
    (tmp_path / "goal/a.txt").write_text("old")
    with pytest.raises(KeyboardInterrupt):
        write_folder(tmp_path / "goal", files(), replace=True)
    assert (tmp_path / "goal/a.txt").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["goal"]


def test_a_disk_that_fails_while_renaming_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "goal").mkdir()
    for name in ("a.txt", "b.txt"):
        (tmp_path / "goal" / name).write_text("old")
    real, calls = folder_module._set_aside, []

    def full(path: Path, aside: Path) -> None:
        calls.append(path)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(path, aside)

    monkeypatch.setattr(folder_module, "_set_aside", full)
    with pytest.raises(FailureError, match="No space left"):
        write_folder(tmp_path / "goal", [("a.txt", b"new"), ("b.txt", b"new")], replace=True)
    assert [(tmp_path / "goal" / name).read_text() for name in ("a.txt", "b.txt")] == ["old", "old"]


def test_a_file_in_the_way_is_not_replaced_unasked(tmp_path: Path) -> None:
    (tmp_path / "goal").mkdir()
    (tmp_path / "goal/a.txt").write_text("old")
    with pytest.raises(InputError, match="in the way"):
        write_folder(tmp_path / "goal", [("a.txt", b"new")], replace=False)
    assert (tmp_path / "goal/a.txt").read_text() == "old"


def test_a_large_file_is_mapped_and_reads_the_same(tmp_path: Path) -> None:
    content = b"0123456789" * 200_000
    (tmp_path / "log.txt").write_bytes(content)
    data = read_bytes(tmp_path / "log.txt", "log.txt")
    assert isinstance(data, memoryview)
    assert bytes(data) == content


def test_a_link_out_of_the_session_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "secret.csv").write_text("1,2")
    (tmp_path / "session").mkdir()
    (tmp_path / "session/a.csv").symlink_to(tmp_path / "secret.csv")
    with pytest.raises(FileRefusedError, match="outside"):
        inside(tmp_path / "session", "a.csv")


def test_a_session_file_in_another_encoding_is_named_with_the_byte(tmp_path: Path) -> None:
    (tmp_path / "session.toml").write_bytes("[session]\ntitle = 'Prüfstand'".encode("latin-1"))
    with pytest.raises(SessionFileError, match="byte 21"):
        read_session_text(tmp_path)
