"""The tests themselves: each can fail, and each says in its name what it holds."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING, Final

from repo.tree import ROOT, functions_of, parse, shown

if TYPE_CHECKING:
    from collections.abc import Iterator

FEWEST_WORDS: Final = 3


def toothless_tests(tree: ast.Module) -> Iterator[str]:
    """Tests of a file that cannot fail: no assert, no expected error, no checking function of the same file."""
    checking = {node.name for node in functions_of(tree) if _can_fail(node)}
    for node in functions_of(tree):
        if node.name.startswith("test_") and not _can_fail(node) and not checking & _called(node):
            yield node.name


def _can_fail(node: ast.AST) -> bool:
    if any(isinstance(item, ast.Assert) for item in ast.walk(node)):
        return True
    return bool({"raises", "warns", "fail"} & _called(node)) or any(
        name.startswith(("assert_", "expect")) for name in _called(node)
    )


def _called(node: ast.AST) -> set[str]:
    calls = [item.func for item in ast.walk(node) if isinstance(item, ast.Call)]
    return {call.attr if isinstance(call, ast.Attribute) else getattr(call, "id", "") for call in calls}


def test_every_test_can_fail() -> None:
    found = {
        shown(path): toothless
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        if (toothless := list(toothless_tests(parse(path))))
    }
    assert found == {}


def test_every_test_is_named_by_a_sentence() -> None:
    short = [
        f"{shown(path)}: {node.name}"
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        for node in functions_of(parse(path))
        if node.name.startswith("test_") and len(node.name.split("_")) <= FEWEST_WORDS
    ]
    assert short == []


def test_a_toothless_test_would_be_seen() -> None:
    tree = ast.parse("def test_a():\n    1 + 1\ndef test_b():\n    assert 1\ndef test_c():\n    test_b()")
    assert list(toothless_tests(tree)) == ["test_a"]


def test_no_test_is_skipped_without_a_reason() -> None:
    bare = [
        f"{shown(path)}: line {node.lineno}"
        for path in sorted((ROOT / "tests").rglob("*.py"))
        for node in ast.walk(parse(path))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in {"skip", "skipif", "xfail"}
        and not (node.args if node.func.attr == "skip" else node.keywords)
        and not any(word.arg == "reason" for word in node.keywords)
    ]
    assert bare == []
