"""Tables for spreadsheets are written in one place, which makes the words in them harmless."""

from __future__ import annotations

import ast

from repo.tree import PACKAGE, parse, source_files

WRITERS = frozenset({"writer", "DictWriter", "to_csv", "to_excel", "write_csv"})


def csv_writers(tree: ast.Module) -> list[str]:
    """Calls that write a table."""
    calls = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    return [call.attr for call in calls if isinstance(call, ast.Attribute) and call.attr in WRITERS]


def test_one_module_writes_tables() -> None:
    found = [path.relative_to(PACKAGE).as_posix() for path in source_files() if csv_writers(parse(path))]
    assert found == ["records/codec_csv.py"]


def test_another_writer_of_tables_would_be_seen() -> None:
    assert csv_writers(ast.parse("import csv\ncsv.writer(stream).writerow([name])")) == ["writer"]
