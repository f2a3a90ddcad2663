"""The settings agree with each other: stages, contracts, dependencies, lock file, ignores, changelog."""

from __future__ import annotations

import importlib.metadata
import re
import tomllib
from typing import Any, Final

import pytest
from packaging.requirements import Requirement
from packaging.version import Version
from repo.tree import PACKAGE, ROOT, functions_of, parse, python_files, shown, source_files

from pullbook import STAGES

SETTINGS: Final[dict[str, Any]] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PROJECT: Final[dict[str, Any]] = SETTINGS["project"]
OPTIONAL: Final = [line for lines in PROJECT["optional-dependencies"].values() for line in lines]
_IGNORES: Final = re.compile(r"#\s*(noqa|type: ignore|pyright: ignore)\b(:?\s*[A-Z0-9, ]+|\[[^\]]*\])?(?P<reason>.*)")


def layers_of_contract() -> list[list[str]]:
    """Layers of the import contract, outermost first; packages that do not exist yet stand in brackets."""
    contract = SETTINGS["tool"]["importlinter"]["contracts"][0]
    return [re.findall(r"\w+", line) for line in contract["layers"]]


def test_the_stages_are_one_layer_of_the_import_contract_in_the_order_of_the_work() -> None:
    layer = next(names for names in layers_of_contract() if "compare" in names)
    assert tuple(name for name in layer if name in STAGES) == STAGES
    assert set(layer) - set(STAGES) == {"bench"}


def test_every_package_has_its_layer_and_every_layer_is_a_package_or_still_in_brackets() -> None:
    named = {name for names in layers_of_contract() for name in names}
    there = {path.stem for path in PACKAGE.iterdir() if (path.is_dir() or path.suffix == ".py")}
    assert there - {"__init__", "__pycache__", "py"} <= named
    text = "\n".join(SETTINGS["tool"]["importlinter"]["contracts"][0]["layers"])
    assert {name for name in named if f"({name})" not in text} <= there


def test_the_package_docstring_tells_the_stages_in_order() -> None:
    text = (PACKAGE / "__init__.py").read_text(encoding="utf-8")
    told = re.findall(r"^    ([a-z]+) +\S", text.split('"""')[1], flags=re.MULTILINE)
    assert tuple(word for word in told if word in STAGES) == STAGES


def test_readme_tree_tells_the_stages_that_exist_in_order() -> None:
    tree = (ROOT / "README.md").read_text(encoding="utf-8").split("## Layout")[1].split("```")[1]
    told = [line.split()[0].rstrip("/") for line in tree.splitlines() if line.strip()]
    assert [name for name in told if name in STAGES] == [name for name in STAGES if (PACKAGE / name).is_dir()]
    assert {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"} <= set(told)


def test_the_way_of_the_data_in_the_documentation_tells_the_stages_in_order() -> None:
    text = (ROOT / "docs" / "way-of-the-data.md").read_text(encoding="utf-8")
    told = re.findall(r"^## (\w+)", text, flags=re.MULTILINE)
    assert tuple(word.lower() for word in told if word.lower() in STAGES) == STAGES


@pytest.mark.parametrize("line", [*PROJECT["dependencies"], *OPTIONAL], ids=lambda line: Requirement(line).name)
def test_every_dependency_is_locked_installed_and_explained(line: str) -> None:
    requirement = Requirement(line)
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    locked = re.search(rf"^{re.escape(requirement.name)}==(\S+)", lock, flags=re.MULTILINE)
    assert locked, f"{requirement.name} is not in requirements.lock; run `python3 tasks.py lock`"
    assert requirement.specifier.contains(Version(locked.group(1)))
    assert requirement.specifier.contains(importlib.metadata.version(requirement.name))
    page = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    rows = [row for row in page.splitlines() if row.startswith(f"| `{requirement.name}`")]
    assert len(rows) == 1, f"{requirement.name} needs one row in docs/dependencies.md"
    assert len([cell for cell in rows[0].split("|") if cell.strip()]) >= 4, "name, home, why, licence"


IMPORTED_AS: Final = {
    "python-calamine": "python_calamine",
    "argon2-cffi": "argon2",
    "websockets": "uvicorn.protocols.websockets",
}


@pytest.mark.parametrize("line", [*PROJECT["dependencies"], *OPTIONAL], ids=lambda line: Requirement(line).name)
def test_every_dependency_is_used_in_the_home_that_the_page_names(line: str) -> None:
    name = Requirement(line).name
    module = IMPORTED_AS.get(name, name)
    use = re.compile(rf"^\s*(import|from) {module}\b|files\(\"{module}\"\)", flags=re.MULTILINE)
    users = {path for path in source_files() if use.search(path.read_text(encoding="utf-8"))}
    assert users, f"nothing uses {name}: take it out of the dependencies"
    page = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    row = next(row for row in page.splitlines() if row.startswith(f"| `{name}`"))
    homes = re.findall(r"`([^`]+)`", row.split("|")[2])
    packages = {path.relative_to(PACKAGE).parts[0] for path in users}
    assert name == "numpy" or packages == {home.split("/")[0] for home in homes}


def test_every_locked_file_has_a_hash() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    entries = re.split(r"^(?=\S)", lock, flags=re.MULTILINE)
    assert [entry.split()[0] for entry in entries if "==" in entry and "--hash=sha256:" not in entry] == []


def test_every_rule_that_ruff_ignores_has_a_reason() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    lists = re.search(r"^ignore = \[(.*?)^\]", text, flags=re.MULTILINE | re.DOTALL)
    each = re.search(r"^\[tool.ruff.lint.per-file-ignores\](.*?)^\[", text, flags=re.MULTILINE | re.DOTALL)
    assert lists
    assert each
    lines = [line for block in (lists, each) for line in block.group(1).splitlines() if '"' in line]
    assert [line for line in lines if "#" not in line and not line.rstrip().endswith("[")] == []


def test_every_ignore_in_the_code_has_a_reason() -> None:
    bare = [
        f"{shown(path)}: line {number}: write '# noqa: XYZ - why' or '# type: ignore[xyz] # why'"
        for path in python_files()
        if path.name != "test_settings.py"
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if (found := _IGNORES.search(line)) and len(found["reason"].strip(" #()")) < 5
    ]
    assert bare == []


def test_changelog_has_entries_under_unreleased() -> None:
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    section = text.split("## [Unreleased]")[1].split("\n## [")[0]
    assert re.search(r"^- \S", section, flags=re.MULTILINE)


def test_the_tasks_that_the_documents_name_exist() -> None:
    recipes = {node.name.replace("_", "-") for node in functions_of(parse(ROOT / "tasks.py")) if not node.args.args}
    pages = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").glob("*.md"))]
    named = {name for page in pages for name in re.findall(r"tasks\.py ([\w-]+)", page.read_text(encoding="utf-8"))}
    assert named
    assert named <= recipes


def test_the_files_that_contributing_names_exist() -> None:
    text = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:[\w.-]+/)+[\w.-]*|[\w.-]+/[\w.-]+\.\w+)`", text)
    assert len(named) > 10
    missing = [name for name in named if not ((ROOT / name).exists() or (PACKAGE / name).exists())]
    assert missing == []
