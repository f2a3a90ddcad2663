"""Which comparison was shown last is noted by many requests at a time."""

from __future__ import annotations

import sys
import threading
from typing import TYPE_CHECKING, Final

from pullbook.app.sessions import SessionPlace
from pullbook.capture.session_draft import read_draft
from pullbook.web import earlier
from pullbook.web.asked import Asked
from pullbook.web.cache import Cache

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

_KEPT: Final = 1
_SESSIONS: Final = 8
_READERS: Final = 8
_TIMES: Final = 1000


def test_many_readers_of_more_sessions_than_stay_in_memory_do_not_disturb_each_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(earlier, "_MOST", _KEPT)
    ones = earlier.EarlierOnes(Cache(tmp_path / "cache"))
    draft = read_draft('[session]\ntitle = "A day"\n')
    places = [SessionPlace(id=f"s{n}", name=f"s{n}", folder=tmp_path / f"s{n}") for n in range(_SESSIONS)]
    mistakes: list[Exception] = []
    together = threading.Barrier(_READERS)

    def read(reader: int) -> None:
        together.wait()
        try:
            for turn in range(_TIMES):
                number = (7 * turn + reader) % _SESSIONS
                ones.note(places[number], Asked(), f"{number:064x}", draft)
        except Exception as error:  # noqa: BLE001 - a thread would only print it
            mistakes.append(error)

    readers = [threading.Thread(target=read, args=(reader,)) for reader in range(_READERS)]
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        for one in readers:
            one.start()
        for one in readers:
            one.join()
    finally:
        sys.setswitchinterval(usual)
    assert not mistakes
