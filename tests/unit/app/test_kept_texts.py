"""Texts that were put aside: which stay, and for how long. The rule is that of docs/session-file.md."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from session_texts import SMALL

from pullbook.app.edit_session import replace_text
from pullbook.app.engine_files import engine_text, find_engines, make_engine, replace_engine
from pullbook.app.kept_texts import KeptText, over_of_history, over_of_kept
from pullbook.errors import ConflictError

if TYPE_CHECKING:
    from pathlib import Path

HOUR = 3600.0
DAY = 24 * HOUR
NOON = 20_000 * DAY + 12 * HOUR  # of some day, in Unix time


def kept(name: str, written: float, *, of: str = "session", size: int = 1, number: int = 0) -> KeptText:
    return KeptText(name=name, of=of, written=written, size=size, number=number)


def gone(*texts: KeptText) -> list[str]:
    return sorted(text.name for text in over_of_kept(texts, texts[-1]))


def test_every_text_of_the_last_day_stays() -> None:
    assert gone(*(kept(f"{minute}", NOON - 1439 * 60.0 + 60.0 * minute) for minute in range(1440))) == []


def test_of_each_earlier_day_the_last_text_stays_for_ninety_days() -> None:
    earlier = [kept(f"{day}-{hour}", NOON - day * DAY + hour * HOUR) for day in range(100, 1, -1) for hour in (-2, 3)]
    left = {f"{day}-3" for day in range(2, 91)}
    assert gone(*earlier, kept("new", NOON + 3 * HOUR)) == sorted({text.name for text in earlier} - left)


def test_each_file_has_days_of_its_own() -> None:
    one, other = kept("one", NOON - 3 * DAY, of="engine"), kept("other", NOON - 3 * DAY - HOUR, of="engines-b")
    assert gone(one, other, kept("new engine", NOON - HOUR, of="engine"), kept("b", NOON, of="engines-b")) == []


def test_the_last_text_of_each_file_stays_however_old() -> None:
    old = [kept("first", NOON - 401 * DAY, of="engine"), kept("last", NOON - 400 * DAY, of="engine")]
    assert gone(*old, kept("new", NOON)) == ["first"]


def test_beyond_twenty_megabytes_the_oldest_go_but_never_the_last() -> None:
    texts = [kept(f"{hour}", NOON + hour * HOUR, size=6_000_000) for hour in range(5)]
    assert gone(*texts) == ["0", "1"]
    assert gone(*texts, kept("huge", NOON + 6 * HOUR, size=30_000_000)) == ["0", "1", "2", "3", "4"]


def test_a_clock_that_was_wrong_costs_no_text() -> None:
    assert gone(kept("tomorrow", NOON + DAY), kept("much later", NOON + 500 * DAY), kept("new", NOON)) == []


def test_of_former_texts_the_last_hundred_of_a_kind_stay_and_at_most_twenty_megabytes() -> None:
    texts = [kept(f"{n}", NOON, number=n) for n in range(1, 121)]
    engine = kept("e", NOON, of="engine")
    assert [text.name for text in over_of_history([*texts, engine], texts[-1])] == [f"{n}" for n in range(20, 0, -1)]
    long = [kept(f"{n}", NOON, number=n, size=9_000_000) for n in range(1, 5)]
    assert [text.name for text in over_of_history(long, long[-1])] == ["2", "1"]
    alone = kept("alone", NOON, size=30_000_000)
    assert over_of_history([alone], alone) == ()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "session.toml").write_text(SMALL, encoding="utf-8")
    make_engine(tmp_path, "# one\n")
    return tmp_path


def conflict(folder: Path, title: str) -> str:
    """Send a text that was made of another revision; where it is kept."""
    with pytest.raises(ConflictError) as caught:
        replace_text(folder, f"# {title}\n{SMALL}", revision="stale")
    return caught.value.what.split()[-1]


def test_a_conflict_puts_its_text_aside_and_what_is_over_goes(folder: Path) -> None:
    names = [conflict(folder, f"{number}") for number in range(3)]
    for name, days in zip(names, (100, 5, 5), strict=True):
        when = (folder / name).stat().st_mtime - days * DAY
        os.utime(folder / name, (when, when))
    own = folder / ".pullbook/kept/remarks.toml"
    own.write_text("x = 1\n", encoding="utf-8")
    latest = conflict(folder, "3")
    there = {f".pullbook/kept/{path.name}" for path in (folder / ".pullbook/kept").iterdir()}
    assert there == {names[2], latest, f".pullbook/kept/{own.name}"}, (
        "of two of one day the later; not what others wrote"
    )
    assert (folder / latest).read_text(encoding="utf-8").startswith("# 3\n")


def test_texts_of_engine_files_are_thinned_out_too(folder: Path) -> None:
    engine = find_engines(folder)[0]
    revision = engine_text(folder, engine).revision
    replace_engine(folder, engine, "# theirs\n", revision=revision)
    names: list[str] = []
    for number in range(3):
        with pytest.raises(ConflictError) as caught:
            replace_engine(folder, engine, f"# mine {number}\n", revision=revision)
        names.append(caught.value.what.split()[-1])
        os.utime(folder / names[-1], (NOON, NOON))
    there = sorted(path.name for path in (folder / ".pullbook/kept").iterdir())
    assert there == [names[-1].rpartition("/")[2]], "the others are of long ago"


@pytest.mark.parametrize("fails", ["unlink", "iterdir"])
def test_a_text_that_cannot_be_deleted_keeps_nobody_from_keeping_his(
    folder: Path, monkeypatch: pytest.MonkeyPatch, fails: str
) -> None:
    first = folder / conflict(folder, "1")
    os.utime(first, (0.0, 0.0))

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patched:
        patched.setattr(f"pathlib.Path.{fails}", refused)
        second = folder / conflict(folder, "2")
    assert first.is_file()
    assert second.is_file()
    conflict(folder, "3")
    assert not first.exists(), "the next one takes it away"
