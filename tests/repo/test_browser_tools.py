"""What checks scripts and pages is pinned, locked by hash, and comes from a lock file that names no host."""

from __future__ import annotations

import json
import re
from typing import Any, Final

from repo.tree import ROOT

TOOLS: Final = ROOT / "tests" / "browser-tools"
WANTED: Final[dict[str, Any]] = json.loads((TOOLS / "package.json").read_text(encoding="utf-8"))
LOCKED: Final[dict[str, Any]] = json.loads((TOOLS / "package-lock.json").read_text(encoding="utf-8"))


def test_every_tool_is_pinned_to_one_version_and_only_for_development() -> None:
    assert not {"dependencies", "scripts", "optionalDependencies"} & set(WANTED)
    assert [
        version for version in WANTED["devDependencies"].values() if not re.fullmatch(r"\d+\.\d+\.\d+", version)
    ] == []


def test_lock_file_of_the_tools_agrees_with_them_has_hashes_and_names_no_host() -> None:
    packages = {name: entry for name, entry in LOCKED["packages"].items() if name}
    assert LOCKED["packages"][""]["devDependencies"] == WANTED["devDependencies"]
    for name, version in WANTED["devDependencies"].items():
        assert packages[f"node_modules/{name}"]["version"] == version
    assert [name for name, entry in packages.items() if not entry["integrity"].startswith("sha512-")] == []
    assert [name for name, entry in packages.items() if "resolved" in entry] == []
    assert "://" not in json.dumps(LOCKED)
