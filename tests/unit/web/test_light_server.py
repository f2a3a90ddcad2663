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
import asyncio, re, sys
from pathlib import Path
from attacks.asking import answer_to
from pullbook.web.application import make_app
from pullbook.web.settings import Settings

def there(*heavy):
    print(sorted(set(heavy) & set(sys.modules)))

async def main():
    app = make_app(Settings(root=Path(sys.argv[1]), port=8420))
    first = await answer_to(app, "/")
    address = re.search(r'href="(/s/[^"?]+)', first.body.decode()).group(1)
    answers = [first, await answer_to(app, address)]
    there("fastapi", "pydantic", "tomlkit", "sqlalchemy", "pullbook.engine.sheet", "pullbook.publish.sections")
    answers.append(await answer_to(app, "/api/sessions"))
    there("numpy", "scipy", "numba", "matplotlib", "plotly.graph_objs", "polars", "python_calamine", "sqlalchemy")
    print([answer.status for answer in answers])

asyncio.run(main())
"""


def test_pages_come_without_what_the_routes_need_and_both_without_any_heavy_library(tmp_path: Path) -> None:
    (tmp_path / "sessions" / "demo").mkdir(parents=True)
    (tmp_path / "sessions" / "demo" / "session.toml").write_text(HEADER)
    done = subprocess.run(
        [sys.executable, "-c", ASKED, str(tmp_path / "sessions")], capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT / "tests"), "PULLBOOK_CACHE_HOME": str(tmp_path / "cache")},
    )  # fmt: skip
    assert done.stdout.splitlines() == ["[]", "[]", "[200, 200, 200]"], done.stderr
