"""Our script modules in the order in which they need each other, and joined for a page that is one file."""

from __future__ import annotations

import re
from posixpath import dirname, join, normpath
from typing import TYPE_CHECKING, Final, NamedTuple

from pullbook.errors import FailureError

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Module", "bundled", "modules_in_order"]

_IMPORT: Final = re.compile(r'^import \{([^}]*)\} from "(\.{1,2}/[a-z/-]+\.js)";\n', re.MULTILINE)
_EXPORT: Final = re.compile(r"^export (?=(?:const|let|function|async function|class) (\w+))", re.MULTILINE)
_LEFT: Final = re.compile(r"^\s*(?:import|export)\b.*|\bimport\s*\(", re.MULTILINE)
_BLOCK: Final = re.compile(r"^[ \t]*/\*\*(?:(?!\*/).)*\*/[ \t]*\n", re.MULTILINE | re.DOTALL)
_INDENT: Final = re.compile(r"^[ \t]+", re.MULTILINE)
_REMARK: Final = re.compile(r"^[ \t]*//.*\n", re.MULTILINE)


class Module(NamedTuple):
    """One module, without the lines by which modules name each other, remarks, and blanks before a line.

    Attributes
    ----------
    name : str
        As in "page/charts.js".
    text : str
        What is left of it.
    takes : tuple of (str, tuple of str)
        Each module that it needs, with the names that it takes from there.
    gives : tuple of str
        First name of each declaration that it gives.
    """

    name: str
    text: str
    takes: tuple[tuple[str, tuple[str, ...]], ...]
    gives: tuple[str, ...]


def bundled(entry: str, read: Callable[[str], str]) -> str:
    r"""One script out of a module and all modules that it needs.

    The modules share one scope, in the order in which they need each other, so that a name may stand at the top level
    of one of them only. Remarks are left out, and blanks at the beginning of a line.

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
        ``export`` before a declaration, or has a text that goes over several lines.

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
    text = "".join(module.text for module in modules_in_order(entry, read))
    return f'(() => {{\n"use strict";\n{text}}})();'


def modules_in_order(entry: str, read: Callable[[str], str]) -> list[Module]:
    """A module and all modules that it needs, each after those that it needs itself.

    Parameters
    ----------
    entry : str
        Name of the module to begin with.
    read : callable
        Gives the text of a module by its name.

    Returns
    -------
    list of Module
        Each once.

    Raises
    ------
    FailureError
        If modules need each other in a circle, or one takes or gives anything in another way than
        ``import { name } from "./module.js"`` and ``export`` before a declaration.
    """
    done: dict[str, Module] = {}
    _take(entry, read, done, ())
    return list(done.values())


def _take(name: str, read: Callable[[str], str], done: dict[str, Module], path: tuple[str, ...]) -> None:
    """Add a module after those that it needs."""
    if name in done:
        return
    if name in path:
        raise FailureError("script modules need each other in a circle", where=" > ".join((*path, name)))
    text = _BLOCK.sub("", _REMARK.sub("", read(name)))
    if any(line.count("`") % 2 for line in text.splitlines()):
        raise FailureError("a script module has a text over several lines, whose blanks would be lost", where=name)
    text = _INDENT.sub("", text)
    takes: list[tuple[str, tuple[str, ...]]] = []
    for names, address in _IMPORT.findall(text):
        if " as " in names:
            raise FailureError("a script module renames what it takes", where=name, value=names.strip())
        needed = normpath(join(dirname(name), address))
        _take(needed, read, done, (*path, name))
        takes.append((needed, tuple(re.findall(r"\w+", names))))
    gives = tuple(_EXPORT.findall(text))
    text = _EXPORT.sub("", _IMPORT.sub("", text))
    odd = _LEFT.search(text)
    if odd is not None:
        raise FailureError(
            "a script module takes or gives what cannot be joined", where=name, value=odd.group().strip()
        )
    done[name] = Module(name=name, text=text.lstrip("\n"), takes=tuple(takes), gives=gives)
