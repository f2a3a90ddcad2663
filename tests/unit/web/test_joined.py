"""Script modules joined into one: each in its own scope, none left out, nothing that cannot be joined."""

from __future__ import annotations

import re

import pytest

from pullbook.errors import FailureError
from pullbook.web.assets import SCRIPT, STYLES, address, asset, known
from pullbook.web.joined import joined


def test_a_module_that_two_others_need_stands_once_and_before_them() -> None:
    modules = {
        "n/main.js": 'import { a } from "./a.js";\nimport { b } from "../p/b.js";\na(b);\n',
        "n/a.js": 'import { b } from "../p/b.js";\nexport const a = () => b;\nconst same = 1;\n',
        "p/b.js": "export function b() {}\nconst same = 2;\n",
    }
    script = joined("n/main.js", modules.__getitem__)
    assert re.findall(r"^const (\w+) = \(\(\) =>", script, flags=re.MULTILINE) == ["p_b", "n_a", "n_main"]
    assert script.count("const same") == 2
    assert "import" not in script
    assert "export" not in script


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('import { a as b } from "./a.js";\n', "renames"),
        ('import a from "./a.js";\n', "cannot be joined"),
        ('const a = import("./a.js");\n', "cannot be joined"),
        ("export let a = 1;\n", "cannot be joined"),
        ("export { a };\n", "cannot be joined"),
        ('import { b } from "./a.js";\n', "does not give"),
    ],
)
def test_what_cannot_be_joined_is_refused(text: str, why: str) -> None:
    with pytest.raises(FailureError, match=why):
        joined("n/main.js", {"n/main.js": text, "n/a.js": "export const a = 1;\n"}.__getitem__)


def test_modules_that_need_each_other_in_a_circle_are_refused() -> None:
    modules = {
        "n/a.js": 'import { b } from "./b.js";\n',
        "n/b.js": 'import { a } from "./a.js";\nexport const b = 1;\n',
    }
    with pytest.raises(FailureError, match="circle"):
        joined("n/a.js", modules.__getitem__)


def test_the_script_of_the_page_holds_every_module_that_is_reached_from_its_first() -> None:
    script = asset(SCRIPT)
    assert script is not None
    reached, todo = set(), ["notebook/main.js"]
    while todo:
        name = todo.pop()
        if name in reached:
            continue
        reached.add(name)
        folder = name.partition("/")[0]
        named = re.findall(r'from "(\.{1,2}/[\w/-]+\.js)"', known()[name].read_text(encoding="utf-8"))
        todo += [one.removeprefix("../") if one.startswith("../") else f"{folder}/{one[2:]}" for one in named]
    assert {name for name in known() if name.startswith("notebook/")} <= reached, "a module that nobody needs"
    assert address(SCRIPT) == f"/assets/{script.tag}/{SCRIPT}"


def test_the_styles_of_a_page_begin_with_the_colours() -> None:
    import gzip

    styles = asset(STYLES)
    assert styles is not None
    text = gzip.decompress(styles.packed).decode()
    assert text.index("color-scheme") < text.index(".run>li")
