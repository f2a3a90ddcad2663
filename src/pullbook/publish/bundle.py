"""`bundled`: our script modules joined into one script, for a page that is one file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["bundled"]

_IMPORT: Final = re.compile(r'^import \{([^}]*)\} from "\./([a-z-]+\.js)";\n', re.MULTILINE)
_EXPORT: Final = re.compile(r"^export (?=(?:const|let|function|async function|class) )", re.MULTILINE)
_LEFT: Final = re.compile(r"^\s*(?:import|export)\b.*|\bimport\s*\(", re.MULTILINE)
_BLOCK: Final = re.compile(r"^[ \t]*/\*\*(?:(?!\*/).)*\*/[ \t]*\n", re.MULTILINE | re.DOTALL)
_REMARK: Final = re.compile(r"^[ \t]*//.*\n", re.MULTILINE)


def bundled(entry: str, read: Callable[[str], str]) -> str:
    r"""One script out of a module and all modules that it needs.

    The modules share one scope, in the order in which they need each other, so that a name may stand at the top level
    of one of them only. Remarks are left out.

    Parameters
    ----------
    entry : str
        Name of the module to begin with, as in "report.js".
    read : callable
        Gives the text of a module of ours.

    Returns
    -------
    str
        A script that needs nothing else.

    Raises
    ------
    FailureError
        If a module takes or gives anything in another way than ``import { name } from "./module.js"`` and
        ``export`` before a declaration.

    Examples
    --------
    >>> modules = {"a.js": 'import { b } from "./b.js";\nb();\n', "b.js": "// B\nexport const b = () => 1;\n"}
    >>> print(bundled("a.js", modules.__getitem__))
    (() => {
    "use strict";
    const b = () => 1;
    b();
    })();
    """
    done: dict[str, str] = {}
    _take(entry, read, done, ())
    return f'(() => {{\n"use strict";\n{"".join(done.values())}}})();'


def _take(name: str, read: Callable[[str], str], done: dict[str, str], path: tuple[str, ...]) -> None:
    """Add a module after those that it needs."""
    if name in done:
        return
    if name in path:
        raise FailureError("script modules need each other in a circle", where=" > ".join((*path, name)))
    text = _BLOCK.sub("", _REMARK.sub("", read(name)))
    for names, needed in _IMPORT.findall(text):
        if " as " in names:
            raise FailureError("a script module renames what it takes", where=name, value=names.strip())
        _take(needed, read, done, (*path, name))
    text = _EXPORT.sub("", _IMPORT.sub("", text))
    odd = _LEFT.search(text)
    if odd is not None:
        raise FailureError(
            "a script module takes or gives what cannot be joined", where=name, value=odd.group().strip()
        )
    done[name] = text.lstrip("\n")
