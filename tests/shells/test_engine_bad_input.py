"""A wrong engine file or speed gets one sentence with key, value and what is allowed, whatever command it meets.

Points that are done are kept when another one breaks, or when somebody interrupts.
"""

from __future__ import annotations

import json
import re
import signal
from typing import TYPE_CHECKING, Any

import pytest
from engines import FREE

from pullbook.cli.main import _status
from pullbook.cli.watch import Bar
from pullbook.engine import simulate
from pullbook.engine.cycle import CycleLimits, run_until_settled
from pullbook.engine.templates import template_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pullbook.engine.cycle import Settled
    from pullbook.engine.network import Network
    from pullbook.engine.operating import Operating

# Key, value as written, and what is allowed or what to do.
WRONG: dict[str, tuple[str | None, tuple[str, ...]]] = {
    "unknown key": ('[engine]\nbor = "86 mm"\n', ("engine.bor: this key is unknown", "perhaps 'bore' is meant")),
    "unknown table": ("[exhuast]\n", ("exhuast", "perhaps 'exhaust' is meant")),
    "missing unit": ('[engine]\nbore = "86"\n', ("engine.bore: the unit is missing", "('86')", "'86 mm'")),
    "bare number": ("[engine]\nbore = 86\n", ("engine.bore: the unit is missing", "('86')", "'86 mm'")),
    "valve larger than bore": (
        '[intake_valves]\ncount = 1\nhead = "90 mm"\n',
        ("intake_valves.head: only up to 64.5 mm", "bore of 86 mm", "('90 mm')"),
    ),
    "two valves larger than bore": (
        '[intake_valves]\nhead = "44 mm"\n', ("intake_valves.head: only up to 43 mm of 2 valves", "('44 mm')")
    ),
    "negative length": (
        '[runners]\nlength = "-1 mm"\n', ("runners.length: only 1 to 20000 mm is possible", "('-1 mm')")
    ),
    "pipe end joined to nothing": (
        FREE.replace('to = "open"\n', ""),
        ("network.pipe[2].to: the end of the pipe 'tail' is joined to nothing", 'write for example to = "open"'),
    ),
    "pipe end joined twice": (
        FREE + 'pipes = ["tail end"]\n',
        ("network.join[1].pipes", "pipe 'tail' is joined twice: to 'open' and to 'merge'", "('tail end')"),
    ),
    "pipe end joined to what is not there": (
        FREE.replace('to = "open"', 'to = "opne"'), ("network.pipe[2].to", "('opne')", "perhaps 'open' is meant")
    ),
    "cylinder of the firing order not there": (
        "[engine]\nfiring_order = [1, 2, 5]\n",
        ("engine.firing_order: cylinder 5 is not on the engine ('[1, 2, 5]')", "each number from 1 to 3 once"),
    ),
    "cylinder twice in the firing order": (
        "[engine]\nfiring_order = [1, 2, 2]\n", ("engine.firing_order: cylinder 2 fires twice", "from 1 to 3 once")
    ),
    "cylinder missing in the firing order": (
        "[engine]\ncylinders = 4\nfiring_order = [1, 3, 2]\n",
        ("engine.firing_order: cylinder 4 never fires ('[1, 3, 2]')", "from 1 to 4 once"),
    ),
    "cam that opens after it closes": (
        '[intake_cam]\nopens = "-80 deg"\ncloses = "-110 deg"\n',
        ("intake_cam.closes: the cam opens after it closes", "only 20 to 460 deg", "('-110 deg')"),
    ),
    "exhaust cam that opens after it closes": (
        '[exhaust_cam]\nopens = "-60 deg"\ncloses = "-170 deg"\n',
        ("exhaust_cam.closes: the cam opens after it closes", "only 20 to 460 deg", "('-170 deg')"),
    ),
    "measured cam that runs backwards": (
        '[intake_cam]\nangles = "60 30 0 -30 -60 deg"\nlifts = "0 4 8 4 0 mm"\n',
        ("intake_cam.angles: the cam opens after it closes", "('60 30 0 -30 -60 deg')", "sort them"),
    ),
    "speed of a schedule": (
        '[mixture]\nspeed = "2000 90000 rpm"\nlambda = "0.9 0.8 lambda"\n',
        ("mixture.speed: only 0 to 20000 rpm is possible", "('2000 90000 rpm')"),
    ),
    "network without an open end": (
        FREE.replace('"open"', '"closed"'),
        ("network.pipe: no pipe of the exhaust is open to the air ('primary, tail')", 'end "open"'),
    ),
    "not a number": ("[engine]\ncompression_ratio = nan\n", ("engine.compression_ratio: the number is not finite",)),
    "no such file": (None, ("engine.toml", "no such file")),
    "not text": ("\udcff", ("engine.toml", "UTF-8")),
}  # fmt: skip


@pytest.mark.parametrize("command", [["engine", "check", "--picture", "p.svg"], ["simulate", "--at", "3000"]])
@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_gets_one_sentence_and_status_2(
    name: str, command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text, expected = WRONG[name]
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "engine.toml"
    if text is not None:
        path.write_text(text, encoding="utf-8", errors="surrogateescape")
    assert _status([*command, str(path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"pullbook: {path}")
    assert said.err.count("\n") == 1
    assert [part for part in expected if part not in said.err] == [], said.err
    assert not (tmp_path / "p.svg").exists()


def test_the_second_file_is_refused_before_the_first_is_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good, wrong = tmp_path / "good.toml", tmp_path / "wrong.toml"
    good.write_text(template_text("single"), encoding="utf-8")
    wrong.write_text(FREE.replace('"open"', '"closed"'), encoding="utf-8")
    assert _status(["simulate", str(good), str(wrong), "--rpm", "3000,4000"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"{wrong}: network.pipe: no pipe of the exhaust is open" in said.err


@pytest.mark.parametrize(
    ("option", "value", "told"),
    [("--at", "299", "299"), ("--at", "20001", "20001"), ("--at", "nan", "nan"), ("--at", "-3000", "-3000"),
     ("--rpm", "2000,25000", "25000"), ("--rpm", "100:900:100", "100")],
)  # fmt: skip
def test_a_speed_outside_its_range_is_refused_with_the_range(
    option: str, value: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(template_text("single"), encoding="utf-8")
    assert _status(["simulate", str(path), option, value]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == f"pullbook: {option}: the engine speed is out of range ('{told}'); give 300 to 20000 rpm.\n"


def _break_at(monkeypatch: pytest.MonkeyPatch, broken_rpm: float) -> None:
    """Let the gas go wrong at one speed: time steps of five times what the waves allow cannot work."""

    def run(network: Network, operating: Operating, cell_size: float, limits: CycleLimits, **how: Any) -> Settled:
        too_long = CycleLimits(courant=5.0) if operating.speed_rpm == broken_rpm else limits
        return run_until_settled(network, operating, cell_size, too_long, **how)

    monkeypatch.setattr(simulate, "run_until_settled", run)


def test_a_run_that_breaks_says_where_and_the_points_already_done_are_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(template_text("single"), encoding="utf-8")
    _break_at(monkeypatch, 4000.0)
    asked = ["simulate", str(path), "--rpm", "3500,4000,4500", "--no-grid-error", "--threads", "1"]
    where = (
        r"4000 rpm: the gas is no longer physical in (pipe '[^']+', cell \d+|cylinder 1) at \d+\.\d degrees of crank; "
    )
    assert _status(asked) == 1
    said = capsys.readouterr()
    assert re.search(r"^ +3500 ", said.out, flags=re.MULTILINE)
    assert re.search(r"^ +4500 ", said.out, flags=re.MULTILINE)
    assert not re.search(r"^ +4000 ", said.out, flags=re.MULTILINE)
    assert len(re.findall(where, said.out)) == 1
    assert "Traceback" not in said.err
    assert _status([*asked, "--json", "-"]) == 1
    found = json.loads(capsys.readouterr().out)["engines"][0]
    assert [point["speed_rpm"] for point in found["points"]] == [3500.0, 4500.0]
    assert [bool(re.match(where, one)) for one in found["failures"]] == [True]


@pytest.fixture
def in_front() -> Iterator[None]:
    """Ctrl-C counts, as for what runs in front; what a shell starts in the background is told to pass it over."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("in_front")
@pytest.mark.parametrize("engines", [1, 2])
def test_an_interrupt_keeps_the_points_that_are_done(
    engines: int, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = [tmp_path / f"{number}.toml" for number in range(engines)]
    for path in paths:
        path.write_text(template_text("single"), encoding="utf-8")
    step = Bar.step

    def interrupted(bar: Bar, doing: str, done: int, total: int) -> None:
        step(bar, doing, done, total)
        if done == 1:
            signal.raise_signal(signal.SIGINT)  # what Ctrl-C does

    monkeypatch.setattr(Bar, "step", interrupted)
    files = [str(path) for path in paths]
    asked = ["simulate", *files, "--rpm", "4000:9000:1000", "--no-grid-error", "--threads", "1"]
    # An interrupted difference is told as far as it is known.
    assert _status([*asked, *(["--difference"] if engines == 2 else [])]) == 1
    said = capsys.readouterr().out
    assert re.search(r"^ +4000 ", said, flags=re.MULTILINE)
    assert "9000 rpm: interrupted before it was done." in said
    assert _status([*asked, "--json", "-"]) == 1
    found = json.loads(capsys.readouterr().out)["engines"]
    assert len(found) == 1
    assert 1 <= len(found[0]["points"]) < 6
    assert len(found[0]["points"]) + len(found[0]["failures"]) == 6
