"""``pullbook engine new`` and ``pullbook engine check`` as a tester uses them."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest
import typer.main
from repo.tree import ROOT

from pullbook.cli.main import _status, app
from pullbook.engine.engine_file import parse_engine
from pullbook.engine.templates import TEMPLATES, template_text

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_new_engine_can_be_checked_and_nothing_is_unusual(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "engine.toml"
    assert _status(["engine", "new", "--like", name, "--to", str(path)]) == 0
    assert path.read_text(encoding="utf-8") == template_text(name)
    assert _status(["engine", "check", str(path)]) == 0
    said = capsys.readouterr()
    assert "Every number is inside its usual range." in said.out
    assert parse_engine(template_text(name)).block.name in said.out
    assert said.err == ""


def test_a_file_in_the_way_is_kept_until_replacing_is_allowed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "engine.toml"
    path.write_text("mine", encoding="utf-8")
    assert _status(["engine", "new", "--like", "single", "--to", str(path)]) == 2
    assert path.read_text(encoding="utf-8") == "mine"
    assert "in the way" in capsys.readouterr().err
    assert _status(["engine", "new", "--like", "single", "--to", str(path), "--replace"]) == 0
    assert path.read_text(encoding="utf-8") == template_text("single")


def test_an_unknown_engine_is_refused_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _status(["engine", "new", "--like", "inline-fuor", "--to", str(tmp_path / "engine.toml")]) == 2
    assert "perhaps 'inline-four' is meant" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_check_tells_what_is_unusual_and_what_is_assumed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "engine.toml"
    path.write_text('[engine]\nbore = "130 mm"\n', encoding="utf-8")
    assert _status(["engine", "check", str(path)]) == 0
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert "engine.bore 130 mm 50 to 115 mm Bore" in lines
    assert "engine.rod 141.9 mm 1.65 times the stroke" in lines
    assert "fires 1-3-4-2; evenly, 180° apart" in lines


def test_check_tells_what_is_remarkable_about_a_cam_and_about_friction(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "engine.toml"
    path.write_text('[exhaust_cam]\nvalve_lift = "15 mm"\n[friction]\nmodel = "barnes-moss"\n', encoding="utf-8")
    assert _status(["engine", "check", str(path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    remarks = lines[lines.index("Remarks:") + 1 :]
    assert remarks[0].strip() == "exhaust_cam: velocity 0.331 mm a cam degree is more than 0.22"
    assert any(one.strip().startswith("friction: the friction of Barnes-Moss holds pumping") for one in remarks)
    assert _status(["engine", "check", str(path), "--json", "-"]) == 0
    found = json.loads(capsys.readouterr().out)["remarks"]
    assert [one.strip() for one in remarks[: len(found)]] == found
    path.write_text("[engine]\n", encoding="utf-8")
    assert _status(["engine", "check", str(path)]) == 0
    assert "Remarks:" not in capsys.readouterr().out


def test_check_tells_how_each_bank_fires(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(template_text("v8-cross-plane"), encoding="utf-8")
    assert _status(["engine", "check", str(path), "--units", "us"]) == 0
    said = capsys.readouterr().out
    assert "bank left: 270° 180° 90° 180° apart" in said
    assert "8 cylinders of 3.950 in by 3.600 in, 353 in³" in said


def test_check_as_json_tells_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "engine.toml"
    path.write_text('[engine]\nbore = "130 mm"\n', encoding="utf-8")
    assert _status(["engine", "check", str(path), "--json", "-"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["schema"] == "pullbook.engine_check/1"
    assert found["firing_angles_deg"] == [0.0, 540.0, 180.0, 360.0]
    assert {"key": "engine.bore", "value": "130 mm", "usual": "50 to 115 mm", "says": "Bore"} in found["unusual"]
    assert "engine.stroke" in {one["key"] for one in found["assumed"]}


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<?xml"), ("png", b"\x89PNG"), ("pdf", b"%PDF")])
def test_check_draws_the_pipes(ending: str, begins: bytes, tmp_path: Path) -> None:
    path, picture = tmp_path / "engine.toml", tmp_path / f"pipes.{ending}"
    path.write_text(template_text("single"), encoding="utf-8")
    assert _status(["engine", "check", str(path), "--picture", str(picture)]) == 0
    light = picture.read_bytes()
    assert light.startswith(begins)
    assert _status(["engine", "check", str(path), "--picture", str(picture), "--dark"]) == 0
    assert picture.read_bytes() != light


def test_a_picture_of_an_unknown_kind_is_refused_before_anything_is_done(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(template_text("single"), encoding="utf-8")
    assert _status(["engine", "check", str(path), "--picture", str(tmp_path / "pipes.bmp")]) == 2
    said = capsys.readouterr()
    assert ".svg, .png, .pdf" in said.err
    assert said.out == ""
    assert [one.name for one in tmp_path.iterdir()] == ["engine.toml"]


@pytest.mark.parametrize("command", ["new", "check"])
def test_the_page_tells_every_option_in_the_words_of_the_help(command: str) -> None:
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    section = re.search(rf"^### engine {command}\n(.*?)(?=^##|\Z)", page, flags=re.MULTILINE | re.DOTALL)
    assert section is not None
    told = re.sub(r"\s+", " ", section[1].replace("`", ""))
    group = typer.main.get_command(app).commands["engine"]  # type: ignore[attr-defined] # a group has commands
    found = group.commands[command]
    assert re.sub(r"\s+", " ", found.help) in told
    for option in found.params:
        if "--help" not in option.opts:
            assert (option.help or "") in told
            assert (max(option.opts, key=len) if option.opts[0].startswith("-") else option.metavar) in told
