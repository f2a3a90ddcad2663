"""Cache: whole or not at all, bounded, and never a wrong answer."""

from __future__ import annotations

import gzip
import json
import os
import subprocess
import sys
import threading
from typing import TYPE_CHECKING, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs_started import KEY

from pullbook.web.cache import Cache

if TYPE_CHECKING:
    from pathlib import Path

OTHER: Final = KEY[::-1]
FILES: Final = {"findings.json": b'{"a": 1}\n', "parts.json": b"[]" * 5000, "empty.txt": b""}


def _key(number: int) -> str:
    return f"{number:064x}"


def _aged(cache: Cache, key: str, seconds: int) -> None:
    entry = cache.folder / key / "content.json"
    when = entry.stat().st_mtime - seconds
    os.utime(entry, (when, when))


def test_what_is_kept_is_given_back_whole_and_by_name(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "new" / "folder")
    assert (cache.has(KEY), cache.get(KEY), cache.read(KEY, "parts.json"), cache.names(KEY)) == (False, None, None, ())
    cache.put(KEY, FILES)
    assert cache.has(KEY)
    assert cache.get(KEY) == FILES
    assert cache.names(KEY) == ("findings.json", "parts.json", "empty.txt")
    assert cache.read(KEY, "empty.txt") == b""
    assert cache.read(KEY, "other.json") is None
    packed = cache.read_packed(KEY, "parts.json")
    assert packed is not None
    assert len(packed) < 200
    assert gzip.decompress(packed) == FILES["parts.json"]
    cache.drop(KEY)
    assert cache.get(KEY) is None
    assert list(cache.folder.iterdir()) == []


def test_a_result_without_files_is_a_result(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, {})
    assert cache.has(KEY)
    assert cache.get(KEY) == {}


def test_the_users_folder_is_the_home_of_the_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PULLBOOK_CACHE_HOME", str(tmp_path))
    assert Cache().folder == tmp_path / "results"


@pytest.mark.parametrize("key", ["", "..", "../" + KEY, KEY.upper(), "0123", KEY + "/x", "a" * 200])
def test_a_key_of_another_form_never_becomes_a_path(tmp_path: Path, key: str) -> None:
    cache = Cache(tmp_path)
    for use in (cache.has, cache.get, cache.names, cache.drop, lambda key: cache.put(key, FILES)):
        with pytest.raises(ValueError, match="no key"):
            use(key)


@pytest.mark.parametrize("name", ["", "..", "../a", "a/b", "a\\b", ".hidden", "content.json", "a" * 200, "a\0"])
def test_a_name_that_is_no_plain_name_is_refused_and_nothing_is_left(tmp_path: Path, name: str) -> None:
    cache = Cache(tmp_path)
    with pytest.raises(ValueError, match="no name"):
        cache.put(KEY, {"good.txt": b"", name: b"x"})
    assert list(tmp_path.iterdir()) == []
    cache.put(KEY, FILES)
    assert cache.read(KEY, name) is None


@pytest.mark.parametrize(
    "harm", ["cut", "changed", "gone", "list cut", "list gone", "list of another form", "all gone"]
)
def test_damage_is_noticed_and_the_result_counts_as_not_kept(tmp_path: Path, harm: str) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, FILES)
    cache.put(OTHER, FILES)
    packed, listed = tmp_path / KEY / "parts.json.gz", tmp_path / KEY / "content.json"
    if harm == "cut":
        packed.write_bytes(packed.read_bytes()[:10])
    elif harm == "changed":
        packed.write_bytes(packed.read_bytes()[:-9] + b"123456789")
    elif harm == "gone":
        packed.unlink()
    elif harm == "list cut":
        listed.write_bytes(listed.read_bytes()[:20])
    elif harm == "list gone":
        listed.unlink()
    elif harm == "list of another form":
        listed.write_text(json.dumps([1, 2]))
    else:
        for path in (tmp_path / KEY).iterdir():
            path.unlink()
    assert cache.read(KEY, "parts.json") is None
    assert cache.get(KEY) is None
    assert not cache.has(KEY)
    assert cache.get(OTHER) == FILES
    cache.put(KEY, FILES)
    assert cache.get(KEY) == FILES


def test_a_wrong_length_is_seen_without_reading_any_file(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, FILES)
    (tmp_path / KEY / "parts.json.gz").write_bytes(b"")
    assert not cache.has(KEY)


def test_what_was_used_longest_ago_goes_first_when_the_limit_is_passed(tmp_path: Path) -> None:
    cache = Cache(tmp_path, limit=400_000)
    for number in range(6):
        cache.put(_key(number), {"noise.bin": os.urandom(50_000)})  # 13 blocks of 4096 bytes and one for the list
    for number in range(6):
        _aged(cache, _key(number), 1000 - number)
    assert cache.has(_key(0))  # a use: it is the youngest now
    cache.put(_key(6), {"noise.bin": os.urandom(50_000)})
    cache.make_room()
    assert [number for number in range(7) if (tmp_path / _key(number)).exists()] == [0, 3, 4, 5, 6]


def test_the_limit_is_kept_by_itself_however_many_small_results_are_put(tmp_path: Path) -> None:
    cache = Cache(tmp_path, limit=1_000_000)
    for number in range(300):
        cache.put(_key(number), {"card.json": b"{}"})
    size = sum(-(-path.stat().st_size // 4096) * 4096 for path in tmp_path.rglob("*") if path.is_file())
    assert 500_000 < size < 1_060_000
    assert cache.has(_key(299))
    assert not cache.has(_key(0))


def test_a_result_larger_than_all_that_may_be_kept_is_refused_and_costs_no_other(tmp_path: Path) -> None:
    cache = Cache(tmp_path, limit=100_000)
    cache.put(OTHER, FILES)
    with pytest.raises(OSError, match="larger than all"):
        cache.put(KEY, {"noise.bin": os.urandom(200_000)})
    assert [path.name for path in tmp_path.iterdir()] == [OTHER]


def test_what_a_dead_writer_left_behind_is_swept_and_a_living_one_is_left_alone(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    for name, age in ((".new-dead", 7200), (".new-alive", 60)):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "half.gz").write_bytes(b"x")
        when = folder.stat().st_mtime - age
        os.utime(folder, (when, when))
    cache.put(KEY, FILES)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([KEY, ".new-alive"])


def test_a_disk_that_refuses_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache = Cache(tmp_path)

    def full(*_: object, **__: object) -> bytes:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pullbook.web.cache.gzip.compress", full)
    with pytest.raises(OSError, match="No space"):
        cache.put(KEY, FILES)
    assert list(tmp_path.iterdir()) == []


def test_one_who_comes_second_with_the_same_result_changes_nothing(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put(KEY, FILES)
    before = (tmp_path / KEY).stat().st_ino
    cache.put(KEY, FILES)
    assert (tmp_path / KEY).stat().st_ino == before
    assert [path.name for path in tmp_path.iterdir()] == [KEY]


def test_many_that_write_read_and_make_room_at_once_never_see_a_wrong_byte(tmp_path: Path) -> None:
    wrong: list[object] = []

    def work(seed: int) -> None:
        cache = Cache(tmp_path, limit=300_000)
        for number in range(60):
            key = _key((number * 7 + seed) % 12)
            content = {"a.bin": key.encode() * 500, "b.bin": os.urandom(30_000)}
            try:
                cache.put(key, content)
                found = cache.read(key, "a.bin")
            except OSError:  # another one took the folder away while it was made; whoever asks again succeeds
                continue
            if found not in {None, content["a.bin"]}:
                wrong.append((key, found))

    threads = [threading.Thread(target=work, args=(seed,)) for seed in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []


def test_a_writer_that_is_killed_leaves_no_entry_that_is_not_whole(tmp_path: Path) -> None:
    script = (
        "import os, sys; from pathlib import Path; from pullbook.web.cache import Cache\n"
        "cache = Cache(Path(sys.argv[1]))\n"
        "print('go', flush=True)\n"
        "for number in range(10_000):\n"
        "    cache.put(f'{number:064x}', {'a.bin': os.urandom(300_000), 'b.bin': b'b' * 100_000})\n"
    )
    for pause in (0.03, 0.11, 0.17, 0.23):
        writer = subprocess.Popen([sys.executable, "-c", script, str(tmp_path)], stdout=subprocess.PIPE)
        assert writer.stdout is not None
        writer.stdout.readline()
        threading.Event().wait(pause)
        writer.kill()
        writer.communicate()
    cache = Cache(tmp_path)
    entries = [path.name for path in tmp_path.iterdir() if not path.name.startswith(".")]
    assert entries
    for key in entries:
        files = cache.get(key)
        assert files is not None
        assert len(files["a.bin"]) == 300_000


@given(st.dictionaries(st.from_regex(r"[a-z][a-z0-9-]{0,8}\.json", fullmatch=True), st.binary(max_size=300)))
def test_any_bytes_come_back_as_they_were(tmp_path_factory: pytest.TempPathFactory, files: dict[str, bytes]) -> None:
    kept = {name: data for name, data in files.items() if name != "content.json"}
    cache = Cache(tmp_path_factory.mktemp("cache"))
    cache.put(KEY, kept)
    assert cache.get(KEY) == kept
