"""Docstrings are data: what they document is there, and every number has a unit."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING, Final

from repo.numpydoc_sections import read_sections, without_unit
from repo.tree import functions_of, parse, shown, source_files

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

WITH_NUMBERS: Final = ("Parameters", "Other Parameters", "Attributes", "Returns", "Yields")
_Documented = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef


def public_things(tree: ast.Module) -> Iterator[tuple[str, _Documented]]:
    """Public functions, classes and methods of a file, with their dotted names."""
    for node in tree.body:
        if isinstance(node, _Documented) and not node.name.startswith("_"):
            yield node.name, node
            if isinstance(node, ast.ClassDef):
                yield from (
                    (f"{node.name}.{item.name}", item)
                    for item in node.body
                    if isinstance(item, ast.FunctionDef) and not item.name.startswith("_")
                )


def numbers_without_unit(tree: ast.Module) -> list[str]:
    """Documented floats and arrays whose description names no unit."""
    return [
        f"{name}: {section} '{', '.join(entry.names) or entry.type}' has no [unit]"
        for name, node in public_things(tree)
        for section in WITH_NUMBERS
        if (docstring := ast.get_docstring(node)) and (found := read_sections(docstring).get(section))
        for entry in found.entries
        if without_unit(entry)
    ]


def wrong_parameters(tree: ast.Module) -> list[str]:
    """Functions whose Parameters section does not name what the function takes."""
    wrong = []
    for name, node in public_things(tree):
        section = read_sections(ast.get_docstring(node) or "").get("Parameters")
        if isinstance(node, ast.ClassDef) or section is None:
            continue
        documented = {part for entry in section.entries for part in entry.names}
        taken = _arguments(node)
        if documented != taken:
            wrong.append(f"{name}: documented {sorted(documented)}, takes {sorted(taken)}")
    return wrong


def wrong_attributes(tree: ast.Module) -> list[str]:
    """Records whose Attributes section names a field that is not there."""
    wrong = []
    for name, node in public_things(tree):
        section = read_sections(ast.get_docstring(node) or "").get("Attributes")
        if not isinstance(node, ast.ClassDef) or section is None:
            continue
        fields = {
            item.target.id
            for item in node.body
            if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name)
        }
        fields |= {item.name for item in node.body if isinstance(item, ast.FunctionDef)}
        fields |= {
            item.attr for method in functions_of(node) for item in ast.walk(method) if isinstance(item, ast.Attribute)
        }
        missing = {part for entry in section.entries for part in entry.names} - fields
        wrong += [f"{name}: no field '{part}'" for part in sorted(missing)]
    return wrong


def _arguments(node: ast.FunctionDef | ast.AsyncFunctionDef) -> set[str]:
    given = node.args
    every = [*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg]
    return {argument.arg for argument in every if argument is not None} - {"self", "cls"}


def everywhere(rule: Callable[[ast.Module], list[str]]) -> list[str]:
    """What a rule finds in the whole package, with the file before it."""
    return [f"{shown(path)}: {fault}" for path in source_files() for fault in rule(parse(path))]


def test_every_documented_number_has_a_unit() -> None:
    assert everywhere(numbers_without_unit) == []


def test_documented_parameters_are_those_of_the_signature() -> None:
    assert everywhere(wrong_parameters) == []


def test_documented_attributes_are_fields() -> None:
    assert everywhere(wrong_attributes) == []


SAMPLE: Final = '''
def swept_volume(bore, stroke):
    """Volume.

    Parameters
    ----------
    bore : float
        Bore. [m]
    stroke : (n,) array of float
        Stroke.

    Returns
    -------
    volume : float
        Volume. [m3]
    """
'''


def test_a_missing_unit_is_reported_with_the_name_of_the_argument() -> None:
    assert numbers_without_unit(ast.parse(SAMPLE)) == ["swept_volume: Parameters 'stroke' has no [unit]"]
    assert numbers_without_unit(ast.parse(SAMPLE.replace("Stroke.", "Stroke. [m]"))) == []


def test_a_renamed_argument_is_reported() -> None:
    assert wrong_parameters(ast.parse(SAMPLE)) == []
    renamed = SAMPLE.replace("(bore, stroke)", "(bore, lift)")
    assert wrong_parameters(ast.parse(renamed)) == [
        "swept_volume: documented ['bore', 'stroke'], takes ['bore', 'lift']"
    ]


def test_counts_and_words_need_no_unit() -> None:
    words = SAMPLE.replace("(n,) array of float", "(n,) array of int").replace("float", "str")
    assert numbers_without_unit(ast.parse(words)) == []
