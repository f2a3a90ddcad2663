"""Size and shape of the files: the stop that keeps files and classes from swelling."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING, Final

import pytest
from repo.tree import PACKAGE, classes_of, parse, public_names, python_files, shown, source_files

if TYPE_CHECKING:
    from pathlib import Path

MOST_LINES: Final = 300
MOST_METHODS: Final = 20
EMPTY_WORDS: Final = frozenset({"utils", "util", "helpers", "helper", "common", "misc", "manager", "base", "core"})


def long_files(paths: list[Path], most: int = MOST_LINES) -> dict[str, int]:
    """Files with too many lines, and how many they have."""
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in paths}
    return {shown(path): length for path, length in lengths.items() if length > most}


def test_no_python_file_is_longer_than_300_lines() -> None:
    assert long_files(python_files()) == {}


def test_no_own_style_sheet_script_or_template_is_longer_than_300_lines() -> None:
    own = [path for ending in ("css", "js", "html", "j2") for path in PACKAGE.rglob(f"*.{ending}")]
    assert long_files([path for path in own if ".min." not in path.name]) == {}


def test_a_long_file_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    swollen = tmp_path / "swollen.py"
    swollen.write_text("x = 1\n" * 301, encoding="utf-8")
    monkeypatch.setattr("repo.tree.ROOT", tmp_path)
    assert long_files([swollen]) == {"swollen.py": 301}


def test_no_class_has_more_than_20_methods() -> None:
    swollen = {
        f"{shown(path)}: {node.name}": count
        for path in python_files()
        for node in classes_of(parse(path))
        if (count := sum(isinstance(item, ast.FunctionDef | ast.AsyncFunctionDef) for item in node.body)) > MOST_METHODS
    }
    assert swollen == {}


def test_no_module_or_package_has_a_name_that_says_nothing() -> None:
    empty = [shown(path) for path in source_files() if EMPTY_WORDS & set(path.stem.split("_")) | _folders(path)]
    assert empty == []


def _folders(path: Path) -> frozenset[str]:
    return EMPTY_WORDS & frozenset(path.relative_to(PACKAGE).parent.parts)


def test_every_module_says_what_it_is() -> None:
    # A test's names are its sentences; everything else says at its top what it is.
    named = [path for path in python_files() if not shown(path).startswith("tests/")]
    assert [shown(path) for path in named if not _is_sentence(ast.get_docstring(parse(path)))] == []


def _is_sentence(docstring: str | None) -> bool:
    return bool(docstring) and str(docstring).splitlines()[0].rstrip().endswith((".", ":", "?", "!"))


def test_public_names_are_listed_and_sorted() -> None:
    wrong = {shown(path): fault for path in source_files() if (fault := fault_of_public_names(parse(path), path.name))}
    assert wrong == {}


def fault_of_public_names(tree: ast.Module, file_name: str) -> str:
    """What is wrong with ``__all__`` of a file; empty when nothing is."""
    listed = public_names(tree)
    public = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
    defined = {
        node.name
        for node in tree.body
        if isinstance(node, public) and not node.name.startswith("_") and not _is_command(node)
    }
    if listed is None:
        return f"defines {sorted(defined)} and has no __all__" if defined else ""
    if listed != sorted(listed, key=_order):
        return f"__all__ is not sorted: {sorted(listed, key=_order)}"
    unlisted = defined - set(listed)
    missing = set() if file_name == "__init__.py" else set(listed) - defined - _assigned(tree) - _imported(tree)
    return f"not in __all__: {sorted(unlisted)}; not defined: {sorted(missing)}" if unlisted | missing else ""


def _is_command(node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> bool:
    """Whether a function is a command of the command line, which nobody imports."""
    called = [part.func if isinstance(part, ast.Call) else part for part in node.decorator_list]
    return any(isinstance(part, ast.Attribute) and part.attr == "command" for part in called)


def _order(name: str) -> tuple[int, str]:
    """CONSTANTS, then Classes, then functions: the order that ruff sorts to."""
    return (0 if name.isupper() else 1 if name[0].isupper() else 2), name


def _assigned(tree: ast.Module) -> set[str]:
    plain = [target for node in tree.body if isinstance(node, ast.Assign) for target in node.targets]
    typed = [node.target for node in tree.body if isinstance(node, ast.AnnAssign)]
    inside = [
        item.target
        for node in tree.body
        if isinstance(node, ast.If)
        for item in node.body
        if isinstance(item, ast.AnnAssign)
    ]
    return {target.id for target in [*plain, *typed, *inside] if isinstance(target, ast.Name)}


def _imported(tree: ast.Module) -> set[str]:
    """Names that a module passes on from another one."""
    return {alias.name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names}


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("__all__ = ['b', 'a']\na = b = 1", "not sorted"),
        ("def a(): ...", "has no __all__"),
        ("async def a(): ...", "has no __all__"),
        ("__all__ = ['a']\ndef a(): ...\ndef b(): ...", "not in __all__"),
        ("__all__ = ['a', 'c']\ndef a(): ...", "not defined"),
    ],
)
def test_a_fault_in_public_names_would_be_seen(text: str, fault: str) -> None:
    assert fault in fault_of_public_names(ast.parse(text), "any.py")
