"""The repository as its own tests see it: which files there are, parsed once."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = [
    "PACKAGE",
    "ROOT",
    "classes_of",
    "functions_of",
    "module_name",
    "parse",
    "public_names",
    "python_files",
    "shown",
    "source_files",
    "text_files",
]

ROOT: Final = Path(__file__).resolve().parents[2]
PACKAGE: Final = ROOT / "src" / "pullbook"
_FOLDERS: Final = ("src", "tests", "benchmarks", "docs", ".ci", ".github")
_TEXT: Final = frozenset({
    ".cfg", ".css", ".csv", ".editorconfig", ".html", ".in", ".ini", ".j2", ".js", ".json", ".lock", ".md", ".py",
    ".rst", ".svg", ".toml", ".ts", ".txt", ".yaml", ".yml",
})  # fmt: skip


def source_files() -> list[Path]:
    """Python files of the package."""
    return sorted(PACKAGE.rglob("*.py"))


def python_files() -> list[Path]:
    """Python files that people write: package, tests, benchmarks, task file."""
    found = [path for folder in ("src", "tests", "benchmarks") for path in (ROOT / folder).rglob("*.py")]
    return sorted([*found, ROOT / "tasks.py", ROOT / "docs" / "conf.py"])


def text_files() -> list[Path]:
    """Every text file of the repository, without what is built or installed."""
    found = [
        path
        for folder in _FOLDERS
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and not {"_build", "__pycache__", "artefacts"} & set(path.parts)
    ]
    top = [path for path in ROOT.iterdir() if path.is_file() and not path.name.startswith(".coverage")]
    return sorted(path for path in [*found, *top] if path.suffix in _TEXT or path.suffix == "")


def shown(path: Path) -> str:
    """Path as a person would name it."""
    return path.relative_to(ROOT).as_posix()


def module_name(path: Path) -> str:
    """Dotted name of a file of the package."""
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def parse(path: Path) -> ast.Module:
    """Syntax tree of a file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def public_names(tree: ast.Module) -> list[str] | None:
    """Names in ``__all__``, or None where there is none."""
    for node in tree.body:
        if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets):
            return list(ast.literal_eval(node.value))
    return None


def classes_of(tree: ast.Module) -> Iterator[ast.ClassDef]:
    """Every class of a file."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))


def functions_of(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function and method of a tree."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
