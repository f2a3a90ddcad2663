"""What earlier sessions teach: learnt once for a set of sessions, repeated from a file, and nothing below three."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import cache
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest
from noise_model import IID, simulate
from numpy.random import default_rng

from pullbook.app import learn_history
from pullbook.app.history_file import from_file
from pullbook.app.learn_history import from_archive, prior_of
from pullbook.compare.history import likelihood_of
from pullbook.curves.archive_learning import learn_prior
from pullbook.curves.archive_likelihood import unpacked
from pullbook.errors import InputError
from pullbook.records.pooled import KeptScatter
from pullbook.records.taught import Taught, taught_json

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

SESSION: Any = SimpleNamespace(dyno="chassis", bench="")


@pytest.fixture(autouse=True)
def cache_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache that is not there yet."""
    monkeypatch.setenv("PULLBOOK_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache"


@cache
def scatter(seed: int) -> bytes:
    """What one simulated session says."""
    likelihood = likelihood_of(simulate("ABAB", IID, default_rng(seed), own_fitting=True, timed=False).comparison)
    assert likelihood is not None
    return likelihood.packed()


@dataclass
class Kept:
    """An archive that only tells of scatter."""

    packed: list[bytes]
    asked: list[tuple[str, str, tuple[str, ...]]] = field(default_factory=list)

    def scatter(self, dyno: str, bench: str, files: Iterable[str]) -> tuple[KeptScatter, ...]:
        self.asked.append((dyno, bench, tuple(files)))
        return tuple(KeptScatter(session=str(n), packed=one) for n, one in enumerate(self.packed))


def taught_by(packed: list[bytes], bench: str = "") -> Taught:
    kept: Any = Kept(packed)
    source = SimpleNamespace(sha256="ab" * 32)
    status: Any = SimpleNamespace(pull=SimpleNamespace(source=source))
    session: Any = SimpleNamespace(dyno="chassis", bench=bench)
    told = from_archive(kept)(session, [status, status])
    assert kept.asked == [("chassis", bench, ("ab" * 32,))]
    return told


def test_beliefs_are_those_of_the_likelihoods_whatever_their_order() -> None:
    packed = [scatter(seed) for seed in (1, 2, 3)]
    told = taught_by(packed)
    assert told == taught_by(packed[::-1])
    prior, expected = prior_of(told), learn_prior([unpacked(one) for one in packed])
    assert prior is not None
    assert expected is not None
    assert prior.sessions == 3
    assert (prior.pull.location, prior.pull.scale) == pytest.approx(
        (expected.pull.location, expected.pull.scale), rel=1e-6
    )
    assert "names the bench: the three earlier sessions of a chassis dynamometer" in told.says[0]


def test_the_same_sessions_are_learnt_from_once_and_a_damaged_cache_is_learnt_again(
    cache_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    packed = [scatter(seed) for seed in (1, 2, 3)]
    first = taught_by(packed)
    (kept,) = (cache_home / "history").iterdir()
    with monkeypatch.context() as patch:
        patch.setattr(learn_history, "learn_prior", None)  # calling it would fail
        assert taught_by(packed) == first
    kept.write_bytes(b'{"pull"')
    assert taught_by(packed) == first
    taught_by([*packed, scatter(4)])
    assert len(list((cache_home / "history").iterdir())) == 2


def test_a_bench_with_a_name_is_taught_by_its_own_sessions_and_that_is_said() -> None:
    told = taught_by([scatter(seed) for seed in (1, 2, 3)], "cell 2")
    assert told.says == (
        "The three earlier sessions of the bench 'cell 2' (a chassis dynamometer) in the archive teach the scatter.",
    )


def test_below_three_sessions_nothing_is_learnt_and_that_is_said() -> None:
    told = taught_by([scatter(1), scatter(2)])
    assert (prior_of(told), told.sessions) == (None, 2)
    assert "below 3 nothing is learnt" in told.says[0]


def test_a_file_teaches_the_same_to_the_last_digit(tmp_path: Path) -> None:
    told = taught_by([scatter(seed) for seed in (1, 2, 3)])
    path = tmp_path / "history.json"
    for content in (taught_json(told), {"provenance": {"history": taught_json(told)}}):
        path.write_text(json.dumps(content), encoding="utf-8")
        assert from_file(path)(SESSION, []) == told


@pytest.mark.parametrize(
    "content",
    [
        b"[1]", b'{"schema": "pullbook.findings/1"}', b'{"provenance": {"history": null}}', b"\xff\xfe",
        b'{"schema": "pullbook.history/1", "sessions": "x", "says": [], "beliefs": {}}',
        b'{"schema": "pullbook.history/1", "sessions": 3, "says": [], "beliefs": {"pull": {"location": 1}}}',
    ],
)  # fmt: skip
def test_a_file_that_is_no_history_is_refused_in_one_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "history.json"
    path.write_bytes(content)
    with pytest.raises(InputError, match="no history of a bench"):
        from_file(path)


def test_beliefs_that_cannot_be_are_refused(tmp_path: Path) -> None:
    told = taught_json(taught_by([scatter(seed) for seed in (1, 2, 3)]))
    told["beliefs"]["walk"]["scale"] = -1.0  # type: ignore[index, call-overload] # as JSON has it
    path = tmp_path / "history.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(InputError, match="a belief cannot be"):
        from_file(path)
