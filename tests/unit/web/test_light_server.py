from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

from repo.tree import ROOT
from session_folder import HEADER

if TYPE_CHECKING:
    from pathlib import Path

ASKED = """
import asyncio, sys
from pathlib import Path
from attacks.asking import answer_to
from pullbook.web.application import make_app
from pullbook.web.settings import Settings

async def main():
    app = make_app(Settings(root=Path(sys.argv[1]), port=8420))
    found = (await answer_to(app, "/api/sessions")).form["sessions"]
    answers = [await answer_to(app, path) for path in ("/", f"/api/sessions/{found[0]['id']}")]
    print([answer.status for answer in answers])
    heavy = {"numpy", "scipy", "numba", "matplotlib", "plotly.graph_objs", "polars", "python_calamine"}
    print(sorted(heavy & set(sys.modules)))

asyncio.run(main())
"""


def test_the_server_process_answers_without_any_heavy_library(tmp_path: Path) -> None:
    (tmp_path / "sessions" / "demo").mkdir(parents=True)
    (tmp_path / "sessions" / "demo" / "session.toml").write_text(HEADER)
    done = subprocess.run(
        [sys.executable, "-c", ASKED, str(tmp_path / "sessions")], capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT / "tests"), "PULLBOOK_CACHE_HOME": str(tmp_path / "cache")},
    )  # fmt: skip
    assert done.stdout.splitlines() == ["[200, 200]", "[]"], done.stderr
