"""Who may touch a disk: parsers take bytes or text, and only the outer layers read and write files."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING, Final

from repo.tree import PACKAGE, parse, shown, source_files

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

OUTER: Final = frozenset({"app", "cli", "wiring.py", "__main__.py", "remember", "web"})
OWN_DATA: Final = frozenset({"publish"})  # reads its own templates and scripts through importlib.resources
DISK: Final = frozenset(
    {"read_text", "read_bytes", "write_text", "write_bytes", "open", "mkdir", "unlink", "rename", "iterdir", "rglob"}
)
EXCEPTIONS: Final = {  # file -> why it may, although it is a parser; none of them opens a file of the user
    "capture/measurement.py": "starts a child of its own, because the MDF library can run wild on a broken file",
    "capture/measurement_child.py": "that child",
    "bench/demo_curves.py": "reads its own table through importlib.resources",
    "engine/templates.py": "reads its own engine files through importlib.resources",
    "gas/compiled.py": "keeps what the compiler made in the user's cache, in a folder named by the sources",
    "capture/panics.py": "keeps the panics of a library from the screen",
}
FORBIDDEN: Final = frozenset({"pathlib", "os", "shutil", "tempfile", "socket", "subprocess", "glob"})


def disk_touches(tree: ast.Module) -> Iterator[str]:
    """Calls and imports of a file that reach for a disk."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            if name in DISK and not (name == "open" and isinstance(node.func, ast.Attribute)):  # archive.open(member)
                yield f"line {node.lineno}: {name}()"
        elif isinstance(node, ast.Import | ast.ImportFrom) and not _only_for_types(tree, node):
            yield from (f"line {node.lineno}: import {name}" for name in _forbidden_imports(node))


def _forbidden_imports(node: ast.Import | ast.ImportFrom) -> list[str]:
    names = [alias.name for alias in node.names]
    if isinstance(node, ast.Import):
        return [name for name in names if name.split(".")[0] in FORBIDDEN]
    pure = all(name.startswith("Pure") for name in names)  # PurePosixPath knows no disk
    return [node.module] if node.module and node.module.split(".")[0] in FORBIDDEN and not pure else []


def _only_for_types(tree: ast.Module, node: ast.AST) -> bool:
    return any(isinstance(block, ast.If) and "TYPE_CHECKING" in ast.unparse(block.test) and node in block.body
               for block in tree.body)  # fmt: skip


def _home(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0]


def test_only_the_outer_layers_touch_a_disk() -> None:
    found = {
        shown(path): touches
        for path in source_files()
        if _home(path) not in OUTER | OWN_DATA
        and path.relative_to(PACKAGE).as_posix() not in EXCEPTIONS
        and (touches := list(disk_touches(parse(path))))
    }
    assert found == {}


def test_publish_reads_only_its_own_data_and_writes_nothing() -> None:
    found = {
        shown(path): touches
        for path in source_files()
        if _home(path) in OWN_DATA
        and (touches := list(disk_touches(parse(path))))
        and not ("importlib.resources" in path.read_text(encoding="utf-8") and all("read_" in one for one in touches))
    }
    assert found == {}


def test_an_open_file_in_the_core_would_be_seen() -> None:
    touches = list(disk_touches(ast.parse("from pathlib import Path\nPath('a').read_text()\nopen('b')")))
    assert touches == ["line 1: import pathlib", "line 2: read_text()", "line 3: open()"]
