"""Every check that the code can answer has its row in the documentation."""

from __future__ import annotations

import ast
import re
from typing import Final

from repo.tree import PACKAGE, ROOT, parse

PAGE: Final = (ROOT / "docs" / "methods" / "checks.md").read_text(encoding="utf-8")


def names_in_code() -> set[str]:
    """Names that are given to an answer or to a `Check` anywhere in the package ``check``."""
    found: set[str] = set()
    for path in (PACKAGE / "check").glob("*.py"):
        for node in ast.walk(parse(path)):
            if isinstance(node, ast.Call):
                named = [word.value for word in node.keywords if word.arg == "check"]
                first = node.args[:1] if isinstance(node.func, ast.Attribute) and node.func.attr == "answer" else []
                found |= {str(given.value) for given in [*named, *first] if isinstance(given, ast.Constant)}
    return found


def test_every_check_has_a_row_in_the_documentation() -> None:
    told = set(re.findall(r"^\| `([a-z_*]+)` \|", PAGE, flags=re.MULTILINE))
    assert len(names_in_code()) > 10
    assert names_in_code() <= told


def test_every_row_of_the_documentation_is_a_check() -> None:
    told = set(re.findall(r"^\| `([a-z_]+)` \|", PAGE, flags=re.MULTILINE))
    everything = "\n".join(path.read_text(encoding="utf-8") for path in (PACKAGE / "check").glob("*.py"))
    assert {name for name in told if f'"{name}"' not in everything} == set()
