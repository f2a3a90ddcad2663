"""Engine files of a session folder: found by the disk alone, written whole, and never over what somebody else wrote."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pullbook.app.engine_files import (
    EngineFile,
    build_of,
    engine_text,
    find_engine,
    find_engines,
    make_engine,
    replace_engine,
)
from pullbook.app.engine_question import EngineQuestion, keep_question, question_path, read_question
from pullbook.app.engine_speeds import speeds_of
from pullbook.errors import ConflictError, EngineFileError, FileRefusedError, InputError

if TYPE_CHECKING:
    from pathlib import Path

TEXT = '[engine]\nname = "x"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A session folder with engine files, and with files that are none."""
    (tmp_path / "engines").mkdir()
    for name in ("engine.toml", "engine-b.toml", "engines/c.toml", "session.toml", "motor.toml", "engines/c.csv",
                 "engines/.d.toml", "engine-x.txt"):  # fmt: skip
        (tmp_path / name).write_text(TEXT, encoding="utf-8")
    return tmp_path


def test_engine_files_are_found_by_their_names_and_places(folder: Path) -> None:
    found = find_engines(folder)
    assert [(one.name, one.id, one.about) for one in found] == [
        ("engine.toml", "engine", ""), ("engine-b.toml", "engine-b", "b"), ("engines/c.toml", "engines-c", "c"),
    ]  # fmt: skip


def test_names_that_differ_in_signs_alone_have_ids_of_their_own(tmp_path: Path) -> None:
    (tmp_path / "engines").mkdir()
    for name in ("a b.toml", "a+b.toml", "a-b.toml"):
        (tmp_path / "engines" / name).write_text(TEXT, encoding="utf-8")
    ids = {one.id for one in find_engines(tmp_path)}
    assert len(ids) == 3
    assert all(set(one) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") for one in ids)


@pytest.mark.parametrize("wanted", ["engines/c", "engines/c.toml", "../engine", "", "engines-d"])
def test_nothing_but_an_id_of_the_list_names_an_engine_file(folder: Path, wanted: str) -> None:
    assert find_engine(folder, wanted) is None


def test_a_link_out_of_the_session_is_no_engine_file(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    outside = tmp_path_factory.mktemp("outside") / "secret.toml"
    outside.write_text(TEXT, encoding="utf-8")
    (folder / "engines" / "z.toml").symlink_to(outside)
    assert "engines/z.toml" not in [one.name for one in find_engines(folder)]
    with pytest.raises(FileRefusedError):
        engine_text(folder, EngineFile(id="engines-z", name="engines/z.toml", about="z"))


def test_a_folder_that_is_gone_has_no_engine_files(tmp_path: Path) -> None:
    assert find_engines(tmp_path / "gone") == ()


@pytest.mark.parametrize(
    ("about", "build"),
    [("", "A"), ("a", "A"), ("B", "B"), ("long-runners", "Long runners"), ("x", ""), ("c-1", "")],
)
def test_an_engine_file_is_about_the_build_whose_name_it_has(about: str, build: str) -> None:
    builds = ["A", "B", "Long runners", "C 1", "C+1"]
    assert build_of(EngineFile(id="e", name="e", about=about), builds, "A") == build


def test_a_new_engine_file_lies_where_it_is_found_again(tmp_path: Path) -> None:
    assert make_engine(tmp_path, TEXT).name == "engine.toml"
    made = make_engine(tmp_path, TEXT, "Long runners")
    assert made.name == "engines/long-runners.toml"
    assert (tmp_path / made.name).read_text(encoding="utf-8") == TEXT
    assert find_engine(tmp_path, made.id) == made
    assert build_of(made, ["A", "Long runners"], "A") == "Long runners"


def test_an_engine_file_that_is_there_is_not_written_over(folder: Path) -> None:
    with pytest.raises(InputError, match="there already"):
        make_engine(folder, "other")
    assert (folder / "engine.toml").read_text(encoding="utf-8") == TEXT


def test_a_session_has_no_more_engine_files_than_its_page_shows(tmp_path: Path) -> None:
    for number in range(24):
        make_engine(tmp_path, TEXT, f"b{number}")
    with pytest.raises(InputError, match="24 engine files already"):
        make_engine(tmp_path, TEXT)


def test_a_change_is_written_and_the_former_text_is_kept(folder: Path) -> None:
    engine = find_engines(folder)[0]
    before = engine_text(folder, engine)
    after = replace_engine(folder, engine, "# new\n", revision=before.revision)
    assert engine_text(folder, engine) == after
    assert after.text == "# new\n"
    assert [path.read_text(encoding="utf-8") for path in (folder / ".pullbook" / "history").iterdir()] == [TEXT]


def test_lines_end_as_they_do_in_the_file(folder: Path) -> None:
    engine = find_engines(folder)[0]
    (folder / engine.name).write_bytes(b"a = 1\r\nb = 2\r\n")
    replace_engine(folder, engine, "a = 1\nb = 3\n", revision=engine_text(folder, engine).revision)
    assert (folder / engine.name).read_bytes() == b"a = 1\r\nb = 3\r\n"


def test_two_who_change_one_file_lose_nothing(folder: Path) -> None:
    engine = find_engines(folder)[0]
    first = engine_text(folder, engine).revision
    replace_engine(folder, engine, "# theirs\n", revision=first)
    with pytest.raises(ConflictError) as caught:
        replace_engine(folder, engine, "# mine\n", revision=first)
    assert (caught.value.yours, caught.value.theirs) == ("# mine\n", "# theirs\n")
    kept = caught.value.what.split()[-1]
    assert (folder / kept).read_text(encoding="utf-8") == "# mine\n"
    assert engine_text(folder, engine).text == "# theirs\n"


def test_the_same_text_again_is_no_conflict_and_keeps_nothing(folder: Path) -> None:
    engine = find_engines(folder)[0]
    assert replace_engine(folder, engine, TEXT, revision="stale").text == TEXT
    assert not (folder / ".pullbook" / "history").exists()


def test_the_permissions_of_an_engine_file_stay(folder: Path) -> None:
    engine = find_engines(folder)[0]
    (folder / engine.name).chmod(0o640)
    replace_engine(folder, engine, "# new\n", revision=engine_text(folder, engine).revision)
    assert (folder / engine.name).stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"\xff\xfe", "not text in UTF-8"), (b"# x\n" * 60_000, "far too long")],
    ids=["bytes", "long"],
)
def test_what_is_no_engine_file_is_not_shown_as_text(folder: Path, content: bytes, says: str) -> None:
    engine = find_engines(folder)[0]
    (folder / engine.name).write_bytes(content)
    with pytest.raises(EngineFileError, match=says):
        engine_text(folder, engine)


def test_what_was_asked_is_kept_with_the_session(tmp_path: Path) -> None:
    asked = EngineQuestion(engines=("engine.toml",), rpm="2000:3000:500", fine=True, waves="engine.toml", at_rpm=2500.0)
    keep_question(tmp_path, asked)
    assert read_question(tmp_path) == asked


@pytest.mark.parametrize("text", ["", "{", "[]", '{"rpm": 3}', '{"engines": "x"}', '{"other": 1}', '{"fine": "yes"}'])
def test_a_question_that_somebody_else_wrote_is_no_question(tmp_path: Path, text: str) -> None:
    (tmp_path / ".pullbook").mkdir()
    question_path(tmp_path).write_text(text, encoding="utf-8")
    assert read_question(tmp_path) == EngineQuestion()


@pytest.mark.parametrize(
    ("text", "speeds"),
    [("2000:2500:250", (2000.0, 2250.0, 2500.0)), ("3000:3000:50", (3000.0,)), ("4000,2500,4000", (2500.0, 4000.0))],
)
def test_speeds_are_a_range_or_a_list(text: str, speeds: tuple[float, ...]) -> None:
    assert speeds_of(text, "rpm") == speeds


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no list"), ("fast", "no list"), ("nan", "no list"), ("inf", "no list"), ("3000:2000:100", "empty"),
        ("2000:3000:0", "empty"), ("2000:6500:1", "these are 4501 speeds"), ("200:3000:100", "out of range"),
        ("2000,30000", "out of range"), ("1:99999999999999999999:0.0000000001", "speeds"),
        (",".join(str(2000 + n) for n in range(401)), "these are 401 speeds"),
    ],
)  # fmt: skip
def test_speeds_that_cannot_be_run_are_refused(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        speeds_of(text, "rpm")
    assert caught.value.where == "rpm"
    assert len(caught.value.value) <= 80
