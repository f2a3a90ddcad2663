"""Evidence from the command line: sessions remembered, pooled, taught by, and held against themselves."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from repo.tree import ROOT
from session_folder import write_session

from pullbook.cli.main import _status

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    Run = Callable[..., tuple[int, str]]

PARTS = """
[[part]]
name = "Header no. 17"
factor = "header"
level = "4-2-1"
dimensions = { primaries = "47 mm" }

[[part]]
name = "Header no. 12"
factor = "header"
level = "4-1"
dimensions = { primaries = "44 mm" }
"""
GAINS = (4.0, 6.0, 8.0)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Three sessions in an archive, one of them to another standard, and one with a pull of each build."""
    root = tmp_path_factory.mktemp("bench")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PULLBOOK_DATA_HOME", str(root / "data"))
        patch.setenv("PULLBOOK_CACHE_HOME", str(root / "cache"))
        patch.setenv("PULLBOOK_USER", "tester")
        patch.delenv("PULLBOOK_ARCHIVE", raising=False)
        for number, gain in enumerate(GAINS):
            folder = write_session(root / f"s{number}", "AABBAABB", gain=gain, seed=number, extra=PARTS)
            if number == 2:
                text = (folder / "session.toml").read_text()
                (folder / "session.toml").write_text(text.replace("SAE J1349", "DIN 70020"))
            assert _status(["remember", str(folder)]) == 0
        write_session(root / "one", "AB", seed=9, extra=PARTS)
        yield root


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], bench: Path) -> Run:
    """Run a command; its status, and what it printed, in one line."""
    assert bench.is_dir()

    def go(*words: str) -> tuple[int, str]:
        capsys.readouterr()
        status = _status([str(word) for word in words])
        told = capsys.readouterr()
        return status, re.sub(r"\s+", " ", told.out + told.err)

    return go


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def test_a_change_is_pooled_at_one_standard_by_words_and_by_dimension(run: Run, tmp_path: Path) -> None:
    status, told = run("remember", "--pool", "primaries 47 mm from 44 mm", "--window", "4500..5500",
                       "--json", str(tmp_path / "a.json"))  # fmt: skip
    assert (status, told) == (0, "")
    pool = read(tmp_path / "a.json")
    assert (pool["schema"], pool["standard"], len(pool["sessions"])) == ("pullbook.pool/1", "SAE J1349", 3)
    assert [one["recomputed_from"] for one in pool["sessions"]] == [None, None, "DIN 70020"]
    shares, torque = pool["windows"]
    # The gain is g (n - 3500) / 2000 by the formula of the sessions: 0.75 g at 5,000 rpm, the middle of the window.
    for one, gain in zip(torque["sessions"], GAINS, strict=True):
        assert abs(one["effect"] - 0.75 * gain) < 4.0 * one["sd"]
    assert torque["mean"]["low"] < 0.75 * 6.0 < torque["mean"]["high"]
    assert shares["unit"] == "%"
    assert shares["next_engine_approximate"] is True
    assert {one["axis"] for one in pool["curves"]} == {"rpm", "share of the speed of the torque peak"}
    run("remember", "--pool", "primaries -3 mm", "--window", "4500..5500", "--json", str(tmp_path / "b.json"))
    turned = read(tmp_path / "b.json")["windows"][1]
    assert turned["mean"]["value"] == pytest.approx(-torque["mean"]["value"], rel=1e-6)


def test_the_page_is_one_file_without_scripts_that_asks_nobody(run: Run, tmp_path: Path) -> None:
    status, told = run("remember", "--pool", "header 4-2-1 from 4-1", "--to", str(tmp_path / "out"))
    assert status == 0
    assert "The next engine will probably" in told
    page = (tmp_path / "out" / "evidence.html").read_text(encoding="utf-8")
    assert "default-src 'none'" in page
    assert re.findall(r"<script|src=|href=\"http", page) == []
    # Forest and both curves in each of three sizes, and a table that becomes a list on a narrow screen.
    assert [page.count(f'<svg class="picture {size}"') for size in ("wide", "middle", "narrow")] == [3, 3, 3]
    assert page.count('data-head="Gain"') == 3
    assert "N\u00a0m" in page
    assert "N m" not in page
    assert read(tmp_path / "out" / "evidence.json")["change"] == "header 4-2-1 from 4-1"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--pool", "camshaft"), "these words name no change"),
        (("--pool", "camshaft 1 from 2"), "no session in the archive tested this change"),
        (("--pool", "primaries 47 from 44"), "a dimension needs its unit, as in '47 mm'"),
        (("--honest", "--to", "out"), "--to: this goes with --pool"),
        (("--find", "header", "--dyno", "engine"), "--dyno: this goes with --pool"),
        (("--pool", "header 4-2-1 from 4-1", "--window", "100..200"), "measured throughout such a window"),
        (("--pool", "header 4-2-1 from 4-1", "--dyno", "boat"), "there is no such dynamometer"),
        (("--pool", "header 4-2-1 from 4-1", "--dyno", "chassis"), "no session in the archive tested this change"),
        (("--pool", "header 4-2-1 from 4-1", "--standard", "SAE"), "this standard is unknown"),
    ],
)
def test_what_cannot_be_pooled_is_refused_in_one_sentence(run: Run, words: tuple[str, ...], says: str) -> None:
    status, told = run("remember", *words)
    assert status == 2
    assert told.startswith("pullbook: ")
    assert says in told


def test_a_pool_of_one_says_so_and_crank_and_wheels_are_not_mixed(run: Run, bench: Path, tmp_path: Path) -> None:
    other = str(tmp_path / "other.sqlite")
    assert run("remember", str(bench / "s0"), "--archive", other)[0] == 0
    assert "pool of one" in run("remember", "--pool", "primaries +3 mm", "--archive", other)[1]
    folder = write_session(tmp_path / "wheels", "AABB", seed=7, extra=PARTS)
    text = (folder / "session.toml").read_text().replace('dyno = "engine"', 'dyno = "chassis"')
    (folder / "session.toml").write_text(text)
    assert run("remember", str(folder), "--archive", other)[0] == 0
    status, told = run("remember", "--pool", "primaries +3 mm", "--archive", other)
    assert (status, "crank and wheels cannot be pooled" in told, "--dyno" in told) == (2, True, True)
    assert run("remember", "--pool", "primaries +3 mm", "--dyno", "chassis", "--archive", other)[0] == 0


def test_a_session_with_one_pull_a_build_is_told_as_one_that_may_have_tested_the_change(
    run: Run, bench: Path, tmp_path: Path
) -> None:
    other = str(tmp_path / "other.sqlite")
    assert run("remember", str(bench / "one"), "--archive", other)[0] == 0
    status, told = run("remember", "--pool", "header 4-2-1 from 4-1", "--archive", other)
    assert status == 2
    assert "; one session may have tested it and kept no effect, with one pull of each build" in told
    assert not told.rstrip().endswith("..")
    assert run("remember", str(bench / "s0"), "--archive", other)[0] == 0
    assert "One session may have tested it" in run("remember", "--pool", "primaries +3 mm", "--archive", other)[1]
    assert "may have tested" not in run("remember", "--pool", "camshaft 1 from 2", "--archive", other)[1]


def test_a_session_that_cannot_be_corrected_to_the_standard_of_the_others_is_named(
    run: Run, bench: Path, tmp_path: Path
) -> None:
    other = str(tmp_path / "other.sqlite")
    folder = write_session(tmp_path / "received", "AABB", seed=8, extra=PARTS)
    text = (folder / "session.toml").read_text().replace("SAE J1349", "DIN 70020")
    text = text.replace('received = "observed"', 'received = "DIN 70020"')
    text = re.sub(r"^air = .*\n", "", text, flags=re.MULTILINE)  # so that nobody knows what was corrected
    (folder / "session.toml").write_text(text)
    for one in (bench / "s0", bench / "s1", folder):
        run("remember", str(one), "--archive", other)
    status, told = run("remember", "--pool", "primaries +3 mm", "--archive", other)
    assert status == 2
    assert "cannot be corrected to SAE J1349" in told
    assert "--exclude" in told


def test_one_pull_a_build_is_answered_from_history_and_repeated_from_the_findings(
    run: Run, bench: Path, tmp_path: Path
) -> None:
    one = str(bench / "one")
    assert run("compare", one)[0] == 2  # no doubt can be stated
    status, told = run("compare", one, "--archive")
    assert status == 0
    assert "Repeatability is taken from 3 earlier sessions; this session cannot check it." in told
    assert "Nothing in session.toml names the bench" in told
    first, second = tmp_path / "a.json", tmp_path / "b.json"
    run("compare", one, "--archive", "--json", str(first))
    run("compare", one, "--history", str(first), "--json", str(second))
    assert first.read_bytes() == second.read_bytes()
    findings = read(first)
    assert findings["repeatability"]["from_archive"] is True
    assert findings["provenance"]["history"]["sessions"] == 3
    jsonschema.validate(findings, read(ROOT / "docs" / "findings.schema.json"))


def test_a_session_in_the_archive_is_not_taught_by_itself_and_without_the_option_nothing_changes(
    run: Run, bench: Path, tmp_path: Path
) -> None:
    with_archive, plain, kept = (tmp_path / f"{name}.json" for name in ("with", "plain", "kept"))
    run("compare", str(bench / "s0"), "--archive", "--json", str(with_archive))
    assert read(with_archive)["provenance"]["history"]["sessions"] == 2
    assert "below 3 nothing is learnt" in " ".join(read(with_archive)["assumptions"])
    run("compare", str(bench / "s0"), "--json", str(plain))
    assert "history" not in read(plain)["provenance"]
    run("compare", str(bench / "s0"), "--json", str(kept), "--without-bands")
    assert plain.read_bytes() == kept.read_bytes()


def test_scatter_that_is_not_the_usual_one_is_told_and_the_history_not_used(
    run: Run, bench: Path, tmp_path: Path
) -> None:
    folder = write_session(tmp_path / "loud", "ABABABAB", seed=4)
    for path in (folder / "pulls").iterdir():
        lines = path.read_text().splitlines()
        factor = 1.0 + 0.04 * (-1) ** (int(path.name[:2]) // 2)  # 4 % up or down from pull to pull
        rows = [line.split(",") for line in lines[1:]]
        told = [f"{t},{n},{float(m) * factor:.4f},{rest}" for t, n, m, rest in rows]
        path.write_text("\n".join([lines[0], *told]) + "\n")
    goal = tmp_path / "loud.json"
    assert run("compare", str(folder), "--archive", "--json", str(goal))[0] == 0
    findings = read(goal)
    assert re.search(r"Today's scatter is [\d.]+ times the usual of 3 earlier sessions .*: they are not used\.",
                     " ".join(findings["assumptions"]))  # fmt: skip
    assert findings["repeatability"]["from_archive"] is False
    assert "they are not used" in run("compare", str(folder), "--archive")[1]
    assert bench.is_dir()


def test_two_teachers_or_none_that_can_be_read_are_refused(run: Run, bench: Path, tmp_path: Path) -> None:
    one = str(bench / "one")
    assert "cannot both teach" in run("compare", one, "--history", "x", "--archive")[1]
    assert run("compare", one, "--history", str(tmp_path / "none.json"))[0] == 2
    assert "there is no archive yet" in run("compare", one, "--archive", str(tmp_path / "none.sqlite"))[1]


def test_bands_of_this_bench_are_held_to_its_baselines(run: Run, tmp_path: Path) -> None:
    status, told = run("remember", "--honest")
    assert status == 0
    assert re.search(r"in [23] of 3 sessions the 95 % band contained zero", told)
    run("remember", "--honest", "--json", str(tmp_path / "honest.json"))
    found = read(tmp_path / "honest.json")
    assert (found["sessions"], found["expected"], found["windows"]) == (3, 0.95, 9)
    assert found["low"] < found["held"] / 3 <= found["high"]
