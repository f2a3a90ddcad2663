"""What the archive says of a folder: the session itself, and who tested its changes before."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pytest
from evidence_cases import evidence
from session_folder import write_session

from pullbook.app.ports import Silent
from pullbook.app.recall_session import recall_session, session_state
from pullbook.app.remember_session import memory_of
from pullbook.records.pooled import KeptEvidence
from pullbook.records.recollection import Recalled

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.records.pooled import ChangeAsked
    from pullbook.records.recollection import SessionState


def kept(name: str, **changes: Any) -> KeptEvidence:
    told = {"evidence": evidence(3.0), "matches": ((0, 1),), "day": "2026-05-04", **changes}
    return KeptEvidence(session=name, revision=1, key="", title=f"Session {name}", engine="", folder=f"/bench/{name}",
                        dyno="engine", standard="SAE J1349", **told)  # fmt: skip


@dataclass
class Listening:
    """An archive that notes what it is asked."""

    found: tuple[KeptEvidence, ...] = ()
    recalled: Recalled | None = None
    asked: list[ChangeAsked] = field(default_factory=list)

    def look_up(self, state: SessionState) -> Recalled | None:
        assert re.fullmatch("[0-9a-f]{64}", state.key)
        return self.recalled

    def evidence(self, asked: ChangeAsked) -> tuple[KeptEvidence, ...]:
        self.asked.append(asked)
        return self.found


def recalled_by(archive: Listening, folder: Path) -> Any:
    return recall_session(folder, archive, Silent())  # type: ignore[arg-type] # it is asked for no more


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_session(tmp_path / "headers", "ABAB")


def test_a_folder_has_the_key_and_the_place_under_which_it_is_remembered(folder: Path) -> None:
    (folder / "engine.toml").write_text("# not looked into\n")
    state, memory = session_state(folder), memory_of(folder, Silent())
    assert (state.key, state.folder) == (memory.key, memory.content["folder"])
    assert state.files == {one["name"]: one["sha256"] for one in memory.content["files"]}
    assert set(state.pulls) == {pull["file"] for pull in memory.content["pulls"]}
    before = state.key
    (folder / "engine.toml").write_text("# another\n")
    assert session_state(folder).key != before


def test_the_change_is_asked_for_by_its_words_and_what_it_gave_is_one_sentence(folder: Path) -> None:
    archive = Listening(found=(kept("aaaa"), kept("bbbb", day="2026-06-01", matches=((0, -1),))))
    change = recalled_by(archive, folder).changes[0]
    assert change.change == "header 4-2-1 from 4-1"
    assert [archive.asked[0].to.words, archive.asked[0].from_.words] == [("header", "4-2-1"), ("4-1",)]
    assert [one.session for one in change.sessions] == ["bbbb", "aaaa"]  # the latest first
    # 3 % with a standard deviation of 1 %: 3 - 1.96 to 3 + 1.96. The other way round 3 % are lost of 103 %.
    assert change.sessions[1].says == "From 2,000 to 6,000 rpm it gave +3.0 % (+1.0 to +5.0)."
    assert change.sessions[0].says == "From 2,000 to 6,000 rpm it gave -2.9 % (-4.8 to -1.0)."


def test_the_session_itself_is_none_of_the_earlier_ones_and_one_without_an_effect_is_counted_apart(
    folder: Path,
) -> None:
    recalled = Recalled(session="aaaa", revision=2, latest=2, at="2026-05-05T08:00:00Z", program="0.1.0", excluded="",
                        changed=())  # fmt: skip
    found = (kept("aaaa"), kept("bbbb"), kept("cccc", evidence={}, matches=()))
    told = recalled_by(Listening(found=found, recalled=recalled), folder)
    assert told.recalled == recalled
    assert [[one.session for one in change.sessions] for change in told.changes] == [["bbbb"]]
    assert told.changes[0].without == 1


def test_levels_with_units_are_dimensions_and_builds_without_factors_go_by_their_labels(folder: Path) -> None:
    path = folder / "session.toml"
    text = path.read_text()
    path.write_text(text.replace('"4-1"', '"1 3/4 in"').replace('"4-2-1"', '"48 mm"'))
    archive = Listening()
    assert recalled_by(archive, folder).changes[0].change == "header 48 mm from 1 3/4 in"
    to, from_ = archive.asked[0].to.dimensions[0], archive.asked[0].from_.dimensions[0]
    assert to.low < 0.048 < to.high
    assert from_.low < 0.04445 < from_.high  # 1.75 times 25.4 mm
    assert archive.asked[0].to.words == ("header",)
    assert not to.difference
    bare = text[: text.index("[[factor]]")] + text[text.index("[[build]]") :]
    bare = bare.replace('levels = { header = "4-1" }', 'label = "tubes of pullbook"')
    path.write_text(bare.replace('levels = { header = "4-2-1" }', 'label = "cast"'))
    assert recalled_by(archive, folder).changes[0].change == "cast from tubes of pullbook"


def test_a_session_that_is_not_finished_has_no_changes_yet(tmp_path: Path) -> None:
    (tmp_path / "session.toml").write_text('[session]\ntitle = "Begun"\n')
    assert recalled_by(Listening(), tmp_path).changes == ()
