"""`joined`: the script modules of the working page as one script, so that a page is not forty requests.

The modules stay what they are: nothing is renamed, each keeps its own scope. Only remarks are left out, and the lines
by which modules name each other become lines by which they take from each other.
"""

from __future__ import annotations

import re
from posixpath import dirname, join, normpath
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["joined"]

_IMPORT: Final = re.compile(r'^import \{([^}]*)\} from "(\.{1,2}/[a-z/-]+\.js)";\n', re.MULTILINE)
_EXPORT: Final = re.compile(r"^export (?=(?:const|function|async function|class) (\w+))", re.MULTILINE)
_LEFT: Final = re.compile(r"^\s*(?:import|export)\b.*|\bimport\s*\(", re.MULTILINE)
_BLOCK: Final = re.compile(r"^[ \t]*/\*\*(?:(?!\*/).)*\*/[ \t]*\n", re.MULTILINE | re.DOTALL)
_REMARK: Final = re.compile(r"^[ \t]*//.*\n", re.MULTILINE)
_CAST: Final = re.compile(r"/\*\* @(?:type|param) \{[^\n]*?\*/ ?")
_BEHIND: Final = re.compile(r"[ \t]+//[^\n\"'`]*$", re.MULTILINE)  # behind a line; an address has quotes around it


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
    done: dict[str, str] = {}
    _take(entry, read, done, ())
    return '"use strict";\n' + "".join(done.values())


def _take(name: str, read: Callable[[str], str], done: dict[str, str], path: tuple[str, ...]) -> None:
    """Add a module after those that it needs."""
    if name in done:
        return
    if name in path:
        raise FailureError("script modules need each other in a circle", where=" > ".join((*path, name)))
    text = _BEHIND.sub("", _CAST.sub("", _BLOCK.sub("", _REMARK.sub("", read(name)))))
    taken: list[str] = []
    for names, address in _IMPORT.findall(text):
        if " as " in names:
            raise FailureError("a script module renames what it takes", where=name, value=names.strip())
        needed = normpath(join(dirname(name), address))
        _take(needed, read, done, (*path, name))
        taken.append(f"const {{ {' '.join(names.split()).rstrip(',')} }} = {_scope(needed)};\n")
    given = _EXPORT.findall(text)
    text = _EXPORT.sub("", _IMPORT.sub("", text))
    odd = _LEFT.search(text)
    if odd is not None:
        raise FailureError(
            "a script module takes or gives what cannot be joined", where=name, value=odd.group().strip()
        )
    body = "".join(taken) + text.strip("\n")
    done[name] = f"const {_scope(name)} = (() => {{\n{body}\nreturn {{ {', '.join(given)} }};\n}})();\n"


def _scope(name: str) -> str:
    return re.sub(r"\W", "_", name.removesuffix(".js"))
