"""Entries of a list and keys of an inline table as they are written: where each begins and ends."""

from __future__ import annotations

from dataclasses import dataclass

from pullbook.quantities.toml_statements import TOKEN, keys_of

__all__ = ["Item", "items_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One entry of a list, or one key of an inline table.

    Attributes
    ----------
    begin, end : int
        Where in the text of the list or table it begins and ends. [1]
    at : int
        Where its value begins. [1]
    keys : tuple of str
        Its keys, several where they are joined by dots; empty for an entry of a list.
    """

    begin: int
    end: int
    at: int
    keys: tuple[str, ...] = ()


def items_of(written: str) -> list[Item]:
    """Entries of a list or keys of an inline table, in their order; none for any other value.

    Parameters
    ----------
    written : str
        A value as it is written, sound TOML.

    Returns
    -------
    list of Item
        Where each begins and ends.

    Examples
    --------
    >>> [item.keys for item in items_of('{ of = "A", air.pressure = "99 kPa" }')]
    [('of',), ('air', 'pressure')]
    """
    items: list[Item] = []
    if not written.startswith(("[", "{")):
        return items
    begin, end, equals, depth = -1, 0, -1, 0
    for token in TOKEN.finditer(written, 1):
        said = token.group()
        if depth == 0 and said in {",", "]", "}"}:
            if begin >= 0:
                items.append(_item(written, begin, end, equals))
            begin, equals = -1, -1
            continue
        if said.startswith("#") or not said.strip():
            continue
        begin = begin if begin >= 0 else token.start() + len(said) - len(said.lstrip())
        end = token.start() + len(said.rstrip())
        equals = token.start() if said == "=" and depth == 0 and equals < 0 and written[0] == "{" else equals
        depth += (said in "[{") - (said in "]}")
    return items


def _item(written: str, begin: int, end: int, equals: int) -> Item:
    if equals < 0:
        return Item(begin=begin, end=end, at=begin)
    at = equals + 1
    while written[at].isspace():
        at += 1
    return Item(begin=begin, end=end, at=at, keys=tuple(keys_of(written[begin:equals])))
