"""The name of what a result rests on changes with everything that the result rests on, and with nothing else."""

from __future__ import annotations

import builtins
import os
import shutil
from collections import OrderedDict
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.app import content_key as module
from pullbook.app.content_key import content_key, file_key, named_files, seen_behind, still_as_seen

if TYPE_CHECKING:
    from collections.abc import Callable

TEXT: Final = '[session]\ntitle = "t"\n[[pull]]\nfile = "pulls/a.csv"\n[[pull]]\nfile = "pulls/b.csv"\n'
ASKED: Final = ("page", "units=metric")


def _session(folder: Path) -> Path:
    (folder / "pulls").mkdir(parents=True)
    (folder / "session.toml").write_text(TEXT)
    for name in ("a", "b", "c"):
        (folder / "pulls" / f"{name}.csv").write_text(f"rpm,{name}\n")
    return folder


def _rewrite(path: Path, text: str) -> None:
    """Write another text of the same length, and set the times back, as a careless program does."""
    before = path.stat()
    path.write_text(text)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


def _into_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


CHANGES: Final[dict[str, Callable[[Path], object]]] = {
    "session file": lambda folder: (folder / "session.toml").write_text(TEXT + "# note\n"),
    "bytes of a pull": lambda folder: _rewrite(folder / "pulls/a.csv", "rpm,x\n"),
    "a pull is gone": lambda folder: (folder / "pulls/b.csv").unlink(),
    "a pull is a folder": lambda folder: _into_folder(folder / "pulls/b.csv"),
    "two pulls swapped": lambda folder: (
        (folder / "pulls/a.csv").write_text("rpm,b\n"),
        (folder / "pulls/b.csv").write_text("rpm,a\n"),
    ),
    "session file gone": lambda folder: (folder / "session.toml").unlink(),
}


@pytest.mark.parametrize("change", CHANGES)
def test_the_name_changes_with_everything_that_the_result_rests_on(tmp_path: Path, change: str) -> None:
    folder = _session(tmp_path / "s")
    before = content_key(folder, ASKED)
    seen = seen_behind(before)
    assert content_key(folder, ASKED) == before
    assert still_as_seen(seen)
    CHANGES[change](folder)
    assert content_key(folder, ASKED) != before
    assert not still_as_seen(seen)


def test_the_name_changes_with_the_question_and_its_parts_are_told_apart(tmp_path: Path) -> None:
    folder = _session(tmp_path / "s")
    asked = [(), ("a",), ("a", ""), ("ab",), ("a", "b"), ("b", "a"), ("page", "a")]
    assert len({content_key(folder, parts) for parts in asked}) == len(asked)


@pytest.mark.parametrize("name", ["__version__", "_sources"])
def test_another_build_of_pullbook_has_names_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    folder = _session(tmp_path / "s")
    before = content_key(folder), file_key(folder, "pulls/a.csv")
    monkeypatch.setattr(module, name, "another" if name == "__version__" else lambda: "another")
    after = content_key(folder), file_key(folder, "pulls/a.csv")
    assert before[0] != after[0]
    assert before[1] != after[1]


def test_the_name_does_not_change_with_what_the_result_does_not_rest_on(tmp_path: Path) -> None:
    folder = _session(tmp_path / "s")
    before = content_key(folder, ASKED)
    (folder / "pulls" / "c.csv").write_text("not in the run order")
    os.utime(folder / "pulls" / "a.csv")
    (folder / "notes.txt").write_text("beside it")
    shutil.copytree(folder, tmp_path / "elsewhere")
    assert content_key(folder, ASKED) == content_key(tmp_path / "elsewhere", ASKED) == before
    assert content_key(folder / "session.toml", ASKED) == before


def test_a_file_alone_has_a_name_for_its_own_bytes(tmp_path: Path) -> None:
    folder = _session(tmp_path / "s")
    before = file_key(folder, "pulls/a.csv", ["card"])
    (folder / "session.toml").write_text("")
    (folder / "pulls/b.csv").write_text("")
    assert file_key(folder, "pulls/a.csv", ["card"]) == before
    assert file_key(folder, "pulls/a.csv", ["other"]) != before
    assert still_as_seen(seen_behind(before))
    _rewrite(folder / "pulls/a.csv", "rpm,x\n")
    assert file_key(folder, "pulls/a.csv", ["card"]) != before


@pytest.mark.parametrize("name", ["../secret.txt", "/etc/hostname", "a\0b", "link.txt", "pulls", "x" * 5000])
def test_nothing_outside_of_the_folder_is_ever_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    folder = _session(tmp_path / "s")
    (tmp_path / "secret.txt").write_text("secret")
    (folder / "link.txt").symlink_to(tmp_path / "secret.txt")
    monkeypatch.setattr(module, "_hash", lambda path: pytest.fail(f"{path} was read"))
    assert len(file_key(folder, name)) == 64


def _count_reads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the files that are opened from now on."""
    opened: list[str] = []
    real = Path.open

    def watched(path: Path, *arguments: Any, **options: Any) -> Any:
        opened.append(path.name)
        return real(path, *arguments, **options)

    monkeypatch.setattr(Path, "open", watched)
    return opened


def test_a_large_log_is_read_once_and_again_only_when_it_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = _session(tmp_path / "s")
    log = folder / "pulls" / "a.csv"
    log.write_bytes(b"1" * 100_000)
    opened = _count_reads(monkeypatch)
    first = content_key(folder)
    assert content_key(folder, ["other"]) != content_key(folder) == first
    assert opened.count("a.csv") == 1
    assert opened.count("b.csv") == 3  # small: read each time
    _rewrite(log, "2" * 100_000)
    assert content_key(folder) != first
    assert opened.count("a.csv") == 3  # by the test itself, and by the new name


def test_a_large_log_that_is_written_while_it_is_hashed_is_not_remembered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = _session(tmp_path / "s")
    log = folder / "pulls" / "a.csv"
    log.write_bytes(b"1" * 100_000)
    real = module._hash

    def hashed(path: Path) -> str:
        found = real(path)
        if path == log:
            _rewrite(log, "2" * 100_000)
        return found

    monkeypatch.setattr(module, "_hash", hashed)
    torn = content_key(folder)
    assert [seen for seen in module._hashes if seen[0] == str(log)] == []
    monkeypatch.setattr(module, "_hash", real)
    assert content_key(folder) != torn
    assert not still_as_seen(seen_behind(torn))


def test_a_file_that_may_not_be_read_counts_as_absent(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = _session(tmp_path / "s")

    def refused(_: Path) -> str:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(module, "_hash", refused)
    closed = content_key(folder)
    monkeypatch.undo()
    assert content_key(folder) != closed


def test_the_memory_of_hashes_is_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MOST_KNOWN", 3)
    monkeypatch.setattr(module, "_hashes", OrderedDict())
    folder = _session(tmp_path / "s")
    for number in range(10):
        (folder / "pulls" / f"{number}.bin").write_bytes(b"x" * 70_000)
        file_key(folder, f"pulls/{number}.bin")
    assert [Path(seen[0]).name for seen in module._hashes] == ["7.bin", "8.bin", "9.bin"]
    assert seen_behind("no key of this process") == ()


@given(st.binary(max_size=200))
def test_any_bytes_in_place_of_a_session_file_have_a_name(data: bytes) -> None:
    assert isinstance(named_files(data), builtins.tuple)


@pytest.mark.parametrize("text", ["pull = 3", "pull = [1, 2]", "[[pull]]\nfile = 3", "[pull]\nfile = 'a'", "\ufeff"])
def test_a_session_file_of_another_form_names_no_files(text: str) -> None:
    assert named_files(text.encode()) == ()


def test_a_session_file_with_a_byte_order_mark_names_its_files() -> None:
    assert named_files(("\ufeff" + TEXT).encode()) == ("pulls/a.csv", "pulls/b.csv")
