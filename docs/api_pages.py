"""One reference page for each package, written from the tree at build time, so that no module can be forgotten."""

from __future__ import annotations

import re
from pathlib import Path
from types import GenericAlias
from typing import TYPE_CHECKING, Any

import pullbook

if TYPE_CHECKING:
    from sphinx.application import Sphinx

_FOUNDATIONS = ("errors", "quantities", "records", "curves", "gas", "engine")
_OUTSIDE = ("bench", "app", "wiring", "cli")


def _modules(package: Path) -> list[str]:
    """Dotted names of the modules of a package, the package first."""
    if package.suffix == ".py":
        return [f"pullbook.{package.stem}"]
    return [f"pullbook.{package.name}", *sorted(f"pullbook.{package.name}.{path.stem}" for path in package.glob("*.py")
                                                if path.stem != "__init__")]  # fmt: skip


def _page(name: str, modules: list[str]) -> str:
    parts = [f"# {name}\n"]
    for module in modules:
        title = f"## {module.removeprefix('pullbook.')}\n\n" if len(modules) > 1 else ""
        parts.append(f"{title}```{{eval-rst}}\n.. automodule:: {module}\n   :members:\n```\n")
    return "\n".join(parts)


def _write(app: Sphinx) -> None:
    root = Path(pullbook.__file__).parent
    goal = Path(app.srcdir) / "reference" / "api"
    goal.mkdir(parents=True, exist_ok=True)
    there = [name for name in (*_FOUNDATIONS, *pullbook.STAGES, *_OUTSIDE) if _home(root, name).exists()]
    pages = {name: _page(name, _modules(_home(root, name))) for name in there}
    listed = "\n".join(there)
    pages["index"] = (
        "# Code reference\n\nFrom the foundations to the commands. Every number in a docstring has its unit in square "
        f"brackets.\n\n```{{toctree}}\n:maxdepth: 1\n\n{listed}\n```\n"
    )
    for name, text in pages.items():
        path = goal / f"{name}.md"
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")


def _plain_headings(app: Sphinx, what: str, name: str, obj: object, options: object, lines: list[str]) -> None:
    """Headings and footnotes of a module's docstring, which would clash with those of its neighbours on the page."""
    del app, name, obj, options
    if what != "module":
        return
    text = re.sub(r"^(\w+)\n-{3,}$", r".. rubric:: \1", "\n".join(lines), flags=re.MULTILINE)
    text = re.sub(r"\[(\d+)\]_", r"[\1]", re.sub(r"^\.\. \[(\d+)\] ", r"*  [\1] ", text, flags=re.MULTILINE))
    lines[:] = text.splitlines()


def _plain_footnotes(app: Sphinx, what: str, name: str, obj: object, options: object, lines: list[str]) -> None:
    """Numbers that point to the list of the module, where a docstring has none of its own."""
    del app, name, obj, options
    text = "\n".join(lines)
    if what != "module" and not re.search(r"^\.\. \[\d+\]", text, flags=re.MULTILINE):
        lines[:] = re.sub(r"\[(\d+)\]_", r"[\1]", text).splitlines()


def _skip(app: Sphinx, what: str, name: str, obj: object, *rest: object) -> bool | None:
    """Names of types have no signature that could be told."""
    del app, what, name, rest
    return True if isinstance(obj, GenericAlias) else None


def _home(root: Path, name: str) -> Path:
    return root / name if (root / name).is_dir() else root / f"{name}.py"


def setup(app: Sphinx) -> dict[str, Any]:
    """Write the pages before Sphinx looks for them."""
    app.connect("builder-inited", _write)
    app.connect("autodoc-process-docstring", _plain_headings)
    app.connect("autodoc-process-docstring", _plain_footnotes, priority=400)  # before numpydoc, which renames them
    app.connect("autodoc-skip-member", _skip)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
