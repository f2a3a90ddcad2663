"""Script modules joined into one script for a page that is one file."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from pullbook.errors import FailureError
from pullbook.publish.bundle import bundled, modules_in_order
from pullbook.publish.scripts import page_script, resource


def joined(**modules: str) -> str:
    return bundled("a.js", {f"{name}.js": text for name, text in modules.items()}.__getitem__)


def test_a_module_comes_after_those_that_it_needs_and_once() -> None:
    script = joined(
        a='import { b } from "./b.js";\nimport { c } from "./c.js";\nb(c);\n',
        b='import { c } from "./c.js";\nexport const b = (x) => x + c;\n',
        c="export const c = 1;\n",
    )
    assert script == '(() => {\n"use strict";\nconst c = 1;\nconst b = (x) => x + c;\nb(c);\n})();'


def test_an_import_over_several_lines_is_taken_out() -> None:
    assert (
        joined(a='import {\n  b,\n  c,\n} from "./b.js";\nb(c);\n', b="export const b = 1, c = 2;\n").count("import")
        == 0
    )


def test_remarks_are_left_out_but_not_what_only_looks_like_one() -> None:
    script = joined(a='// why\n/**\n * @type {number}\n */\nconst path = "a // b"; // kept\n')
    assert script == '(() => {\n"use strict";\nconst path = "a // b"; // kept\n})();'


@pytest.mark.parametrize(
    "line",
    [
        'import b from "./b.js";', 'import * as b from "./b.js";', 'import "./b.js";', "export default 1;",
        "export { b };", 'const b = await import("./b.js");', 'import { b } from "https://a.example/b.js";',
    ],
)  # fmt: skip
def test_what_cannot_be_joined_is_refused(line: str) -> None:
    with pytest.raises(FailureError, match=r"a\.js"):
        joined(a=f"{line}\n", b="export const b = 1;\n")


def test_modules_that_need_each_other_are_refused() -> None:
    with pytest.raises(FailureError, match="circle"):
        joined(a='import { b } from "./b.js";\n', b='import { a } from "./a.js";\n')


def test_a_name_renamed_on_the_way_is_refused() -> None:
    with pytest.raises(FailureError, match="as d"):
        joined(a='import { b as d } from "./b.js";\n', b="export const b = 1;\n")


def test_blanks_before_a_line_are_left_out() -> None:
    script = joined(a='const a = () => {\n  const b = "  1";\n    return b;\n};\n')
    assert script == '(() => {\n"use strict";\nconst a = () => {\nconst b = "  1";\nreturn b;\n};\n})();'


def test_a_text_over_several_lines_whose_blanks_would_be_lost_is_refused() -> None:
    with pytest.raises(FailureError, match="several lines"):
        joined(a="const a = `one\n  two`;\n")


def test_no_two_modules_of_the_page_have_a_name_in_common() -> None:
    modules = modules_in_order("report.js", lambda name: resource("static", f"page/{name}"))
    texts = [resource("static", f"page/{module.name}") for module in modules]
    top = re.compile(r"^(?:export )?(?:async )?(?:const|let|function|class) (\w+)", re.MULTILINE)
    names = [name for text in texts for name in top.findall(text)]
    assert len(names) > 100
    assert [name for name, times in Counter(names).items() if times > 1] == []


def test_the_script_of_the_page_needs_nothing_else() -> None:
    script = page_script()
    assert not re.search(r"^\s*(import|export)\b|\bimport\(", script, re.MULTILINE)
    assert "</script" not in script
    assert "startCharts(" in resource("static", "page/report.js")
