from __future__ import annotations

import stat
import sys
from typing import TYPE_CHECKING

import pytest

from pullbook.errors import FailureError, InputError
from pullbook.web.password import check_password, hash_password, keep_password, kept_password, password_file

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PULLBOOK_CONFIG_HOME", str(tmp_path / "settings"))
    return tmp_path / "settings"


def test_a_kept_password_is_known_again_and_no_other_is() -> None:
    keep_password("three plain words")
    assert check_password(kept_password(), "three plain words")
    assert not check_password(kept_password(), "three plain word")


def test_the_hash_is_of_the_kind_and_strength_that_its_standard_recommends() -> None:
    assert hash_password("three plain words").startswith("$argon2id$v=19$m=65536,t=3,p=4$")  # RFC 9106, section 4
    assert hash_password("three plain words") != hash_password("three plain words")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such modes")
def test_only_the_user_can_read_the_file_even_where_an_older_one_was_open_to_all(home: Path) -> None:
    home.mkdir()
    password_file().write_text("$argon2id$old")
    password_file().chmod(0o644)
    keep_password("three plain words")
    assert stat.S_IMODE(password_file().stat().st_mode) == 0o600
    assert [path.name for path in home.iterdir()] == ["password"]


@pytest.mark.parametrize(
    ("password", "says"), [("", "too short"), ("nine char", "too short"), ("x" * 1_001, "too long")]
)
def test_a_password_that_is_easily_guessed_or_endless_is_refused(password: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        keep_password(password)
    assert not password_file().exists()


def test_no_password_is_kept_before_one_was_set() -> None:
    assert kept_password() == ""


@pytest.mark.parametrize("content", [b"", b"plain text", b"\xff\xfe", b"$argon2i$v=19$x", b"x" * 100_000])
def test_a_file_that_holds_no_hash_is_told_and_not_taken_for_no_password(home: Path, content: bytes) -> None:
    home.mkdir()
    password_file().write_bytes(content)
    with pytest.raises(InputError, match="holds no password"):
        kept_password()


@pytest.mark.parametrize(
    "damaged", ["$argon2id$", "$argon2id$v=19$m=65536,t=3,p=4$x$y", "$argon2id$v=19$m=99999999999,t=3,p=4$AAAA$AAAA"]
)
def test_a_damaged_hash_lets_nobody_in(damaged: str) -> None:
    assert not check_password(damaged, "three plain words")


def test_a_folder_that_cannot_be_written_is_told(home: Path) -> None:
    home.write_text("in the way")
    with pytest.raises(FailureError, match="cannot be kept"):
        keep_password("three plain words")
