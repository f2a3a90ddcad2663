"""A writer that is killed at any moment leaves the old session file or the new one, and holds nobody up."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from session_texts import SMALL

from pullbook.app.edit_session import apply_edits, open_draft
from pullbook.app.session_lock import locked
from pullbook.capture.session_edit import Edit
from pullbook.errors import FailureError

if TYPE_CHECKING:
    from pathlib import Path

ROUNDS = 100

# Starts a writer a hundred times, kills it at a random moment, and says what it found.
NURSERY = """
import os, random, signal, sys, time
from pathlib import Path
from pullbook.app.edit_session import apply_edits, open_draft
from pullbook.capture.session_edit import Edit

folder, rounds = Path(sys.argv[1]), int(sys.argv[2])
moments = random.Random(7)
seen = set()
for number in range(rounds):
    child = os.fork()
    if not child:
        for count in range(10_000):
            word = f"{number}-{count}"
            notes = "\\n".join([word] * 300)
            apply_edits(folder, [Edit("set", "session.title", word), Edit("set", "session.notes", notes)])
        os._exit(1)
    time.sleep(moments.uniform(0.0, 0.15))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    draft = open_draft(folder)
    assert draft.session is not None, draft.problems
    assert set(draft.session.notes.split("\\n")) <= {draft.session.title, "Oil changed"}, draft.session.title
    seen.add(draft.session.title)
print(len(seen))
"""

WRITER = """
import sys
from pathlib import Path
from pullbook.app.edit_session import apply_edits
from pullbook.capture.session_edit import Edit

for count in range(10):
    apply_edits(Path(sys.argv[1]), [Edit("add", "pull", {"build": "A", "file": f"pulls/{sys.argv[2]}-{count}.csv"})])
"""


HOLDER = """
import sys
from pathlib import Path
from pullbook.app.session_lock import locked

with locked(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    text = SMALL.replace('title = "One header"', 'title = "start"\nnotes = "Oil changed"')
    (tmp_path / "session.toml").write_text(text, "utf-8")
    return tmp_path


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="the nursery forks")
def test_a_writer_killed_at_a_hundred_random_moments_leaves_a_whole_file(folder: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", NURSERY, str(folder), str(ROUNDS)], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    assert int(run.stdout) > ROUNDS // 4  # the killed ones did write
    apply_edits(folder, [Edit("set", "session.title", "after")])
    assert open_draft(folder).session is not None
    begun = [path for path in folder.rglob(".session*") if re.fullmatch(r"\.session.*\.toml-[0-9a-f]{12}", path.name)]
    assert begun == []  # what the killed ones had begun is swept away


@pytest.mark.slow
def test_writers_of_several_programs_take_turns(folder: Path) -> None:
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(folder), str(number)], stderr=subprocess.PIPE)
        for number in range(4)
    ]
    assert [writer.communicate()[1] for writer in writers] == [b""] * 4
    session = open_draft(folder).session
    assert session is not None
    assert len(session.pulls) == 2 + 40


def test_a_lock_that_another_one_holds_is_waited_for_and_then_refused(tmp_path: Path) -> None:
    own = tmp_path / "own" / "lock"
    with locked(own), pytest.raises(FailureError, match="another program is writing"), locked(own, patience=0.05):
        pytest.fail("two hold the lock")
    with locked(own, patience=0.05):
        assert own.exists()


def test_a_lock_of_another_program_is_respected(tmp_path: Path) -> None:
    own = tmp_path / "lock"
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(own)], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert holder.stdout is not None
    assert holder.stdout.readline().strip() == b"held"
    with pytest.raises(FailureError, match="another program is writing"), locked(own, patience=0.1):
        pytest.fail("two hold the lock")
    holder.kill()
    holder.communicate()
    with locked(own, patience=5.0):
        assert own.exists()


def test_a_lock_in_a_folder_that_is_not_there_is_said_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(FailureError, match="cannot be written to") as caught, locked(tmp_path / "no" / "own" / "lock"):
        pytest.fail("there is no such folder")
    assert caught.value.where == str(tmp_path / "no")
