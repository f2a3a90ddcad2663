"""Every route of the notebook is in the documentation, with the words of its description."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Final

from repo.tree import ROOT

from pullbook.web.api import make_api
from pullbook.web.cache import Cache
from pullbook.web.jobs import Jobs
from pullbook.web.notebook import Notebook
from pullbook.web.settings import Settings

PAGE: Final = (ROOT / "docs" / "reference" / "routes.md").read_text(encoding="utf-8")


def description() -> dict[str, Any]:
    cache = Cache(Path())
    notebook = Notebook(Settings(root=Path(), port=8420), Jobs(cache), cache)
    return make_api(notebook).openapi()


def test_the_page_tells_of_every_route_and_of_no_other() -> None:
    told = dict(re.findall(r"^\| `([A-Z]+ /\S+)` \| (.+) \|$", PAGE, flags=re.MULTILINE))
    routes = {
        f"{method.upper()} {path}": operation["summary"]
        for path, ways in description()["paths"].items()
        for method, operation in ways.items()
    }
    assert told == routes


def test_every_route_that_changes_something_says_that_it_needs_the_token() -> None:
    found = {
        f"{method} {path}": operation.get("security")
        for path, ways in description()["paths"].items()
        for method, operation in ways.items()
    }
    unsafe = {name: said for name, said in found.items() if not name.startswith("get ")}
    assert set(map(str, unsafe.values())) == {"[{'token': []}]"}
    assert all(said is None for name, said in found.items() if name.startswith("get "))


def test_every_operation_has_a_name_of_its_own() -> None:
    names = [operation["operationId"] for ways in description()["paths"].values() for operation in ways.values()]
    assert len(names) == len(set(names))
