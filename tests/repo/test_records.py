"""Records are frozen, slotted and built by keyword, so that no step can change what another one measured."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING, Final

from repo.tree import PACKAGE, classes_of, parse, shown, source_files

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

OF_A_RECORD: Final = frozenset({"frozen", "slots", "kw_only"})
OF_ANY: Final = frozenset({"slots"})


def loose_dataclasses(tree: ast.Module, demanded: frozenset[str]) -> Iterator[str]:
    """Dataclasses of a file that lack one of the demanded options."""
    for node in classes_of(tree):
        for decorator in node.decorator_list:
            called = decorator.func if isinstance(decorator, ast.Call) else decorator
            if isinstance(called, ast.Name) and called.id == "dataclass":
                given = {word.arg for word in decorator.keywords} if isinstance(decorator, ast.Call) else set()
                if missing := demanded - given:
                    yield f"{node.name} lacks {', '.join(sorted(missing))}"


def _found(folder: Path, demanded: frozenset[str]) -> dict[str, list[str]]:
    return {
        shown(path): loose
        for path in source_files()
        if path.is_relative_to(folder) and (loose := list(loose_dataclasses(parse(path), demanded)))
    }


def test_every_record_is_frozen_slotted_and_built_by_keyword() -> None:
    assert _found(PACKAGE / "records", OF_A_RECORD) == {}
    assert _found(PACKAGE / "curves", OF_A_RECORD) == {}


def test_every_other_dataclass_has_slots_so_that_a_misspelt_field_is_an_error() -> None:
    assert _found(PACKAGE, OF_ANY) == {}


def test_a_loose_dataclass_would_be_seen() -> None:
    tree = ast.parse("@dataclass(frozen=True, slots=True)\nclass Pull: ...\n@dataclass\nclass Build: ...")
    assert list(loose_dataclasses(tree, OF_A_RECORD)) == ["Pull lacks kw_only", "Build lacks frozen, kw_only, slots"]


def test_records_with_arrays_make_them_read_only() -> None:
    writeable = [
        f"{shown(path)}: {node.name}"
        for path in (PACKAGE / "records").glob("*.py")
        for node in classes_of(parse(path))
        if any("FloatArray" in ast.unparse(item.annotation) for item in node.body if isinstance(item, ast.AnnAssign))
        and "frozen_floats" not in ast.unparse(node)
    ]
    assert writeable == []
