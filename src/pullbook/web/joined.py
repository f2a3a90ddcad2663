"""`joined`: the script modules of the working page as one script, so that a page is not forty requests.

The modules stay what they are: nothing is renamed, each keeps its own scope. Only remarks are left out, and the lines
by which modules name each other become lines by which they take from each other.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError
from pullbook.publish.bundle import modules_in_order

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pullbook.publish.bundle import Module

__all__ = ["joined"]

_CAST: Final = re.compile(r"/\*\* @(?:type|param) \{[^\n]*?\*/ ?")
_BEHIND: Final = re.compile(r"[ \t]+//[^\n\"'`]*$", re.MULTILINE)  # behind a line; an address has quotes around it
_CHANGING: Final = re.compile(r"^export let\b.*", re.MULTILINE)


def joined(entry: str, read: Callable[[str], str]) -> str:
    r"""One script out of a module and all modules that it needs, each in a scope of its own.

    Parameters
    ----------
    entry : str
        Name of the module to begin with, as in "notebook/main.js".
    read : callable
        Gives the text of a module by its name.

    Returns
    -------
    str
        A script that needs nothing else.

    Raises
    ------
    FailureError
        If modules need each other in a circle, or take or give anything in another way than
        ``import { name } from "./module.js"`` and ``export`` before a declaration that stays what it is.

    Examples
    --------
    >>> modules = {"n/a.js": 'import { b } from "../p/b.js";\nb();\n', "p/b.js": "// B\nexport const b = () => 1;\n"}
    >>> print(joined("n/a.js", modules.__getitem__))
    "use strict";
    const p_b = (() => {
    const b = () => 1;
    return { b };
    })();
    const n_a = (() => {
    const { b } = p_b;
    b();
    return {  };
    })();
    <BLANKLINE>
    """

    def constant(name: str) -> str:
        text = read(name)
        if changing := _CHANGING.search(text):
            raise FailureError(
                "a script module takes or gives what cannot be joined", where=name, value=changing.group()
            )
        return text

    modules = modules_in_order(entry, constant)
    gives = {module.name: module.gives for module in modules}
    return '"use strict";\n' + "".join(_scoped(module, gives) for module in modules)


def _scoped(module: Module, gives: Mapping[str, tuple[str, ...]]) -> str:
    """Module as a scope that gives what others take."""
    lines: list[str] = []
    for needed, names in module.takes:
        missing = [name for name in names if name not in gives[needed]]
        if missing:
            raise FailureError(
                f"a script module takes what {needed} does not give in a declaration of its own", where=module.name,
                value=", ".join(missing),
            )  # fmt: skip
        lines.append(f"const {{ {', '.join(names)} }} = {_scope(needed)};\n")
    text = _BEHIND.sub("", _CAST.sub("", module.text)).strip("\n")
    given = ", ".join(module.gives)
    return f"const {_scope(module.name)} = (() => {{\n{''.join(lines)}{text}\nreturn {{ {given} }};\n}})();\n"


def _scope(name: str) -> str:
    return re.sub(r"\W", "_", name.removesuffix(".js"))
