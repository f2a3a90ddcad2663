"""JSON with long lists of numbers in it, as findings have: the lists go out as whole numbers, the rest stays text."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final, TypeAlias

import numpy as np

from pullbook.remember.whole_numbers import from_planes, to_planes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.arrays import IntArray

__all__ = ["from_lists", "to_lists"]

_Counted: TypeAlias = "tuple[int, IntArray, list[int]]"  # decimals, whole numbers, places without one

_HEAD: Final = 4  # byte
_FEWEST: Final = 8
_MOST_PLACES: Final = 12
_LARGEST: Final = 2**52
_MARK: Final = "\x00"  # no JSON that pullbook writes has it


def to_lists(content: bytes) -> bytes | None:
    r"""JSON with its lists of numbers taken out; None where it is none, or not written as pullbook writes it.

    Parameters
    ----------
    content : bytes
        The text.

    Examples
    --------
    >>> text = b'{"grid":[2000.0,2050.0,2100.5,null,2200.0,2250.0,2300.0,2350.0],"title":"two headers"}'
    >>> from_lists(to_lists(text)) == text
    True
    >>> to_lists(b"no JSON") is None
    True
    """
    try:
        tree = json.loads(content)
    except (ValueError, RecursionError):
        return None
    lists: list[_Counted] = []
    rest = _text(_without(tree, lists)).encode()
    told: list[Any] = []
    parts: list[bytes] = []
    for counted in lists:
        form, part = _packed(counted)
        told.append(form)
        parts.append(part)
    head = _text(told).encode()
    sizes = b"".join(len(one).to_bytes(_HEAD, "little") for one in (head, rest))
    return b"".join([sizes, head, rest, *parts])


def _text(tree: object) -> str:
    return json.dumps(tree, separators=(",", ":"), ensure_ascii=False)


def _without(tree: Any, lists: list[_Counted]) -> Any:  # noqa: ANN401 - whatever JSON holds
    """Tree with a mark for each list of numbers, which goes into `lists`."""
    if isinstance(tree, dict):
        return {key: _without(value, lists) for key, value in tree.items()}
    if isinstance(tree, list):
        counted = _counted(tree) if len(tree) >= _FEWEST else None
        if counted is not None:
            lists.append(counted)
            return _MARK
        return [_without(value, lists) for value in tree]
    return tree


def _counted(values: list[Any]) -> _Counted | None:
    """Fewest decimals that all numbers of a list can be written with, and the numbers; None for anything else."""
    if not set(map(type, values)) <= {float, type(None)}:
        return None
    numbers = np.array(values, dtype=np.float64)
    there = np.isfinite(numbers)
    known = numbers[there]
    if not known.size or there.sum() + values.count(None) < len(values):
        return None
    largest = float(np.abs(known).max())
    for places in range(_MOST_PLACES + 1):
        scale = 10.0**places
        if largest * scale >= _LARGEST:
            return None
        counts = np.rint(known * scale)
        if np.array_equal(counts / scale, known):
            before = np.maximum(np.cumsum(there) - 1, 0)  # a place without a number takes the one before it
            filled = np.where(np.cumsum(there) > 0, counts[before], 0.0)
            return places, filled.astype(np.int64), np.flatnonzero(~there).tolist()
    return None


def _packed(counted: _Counted) -> tuple[list[Any], bytes]:
    """What is told of a list, and its bytes."""
    places, counts, empty = counted
    order, width, part = to_planes(counts)
    return [places, counts.size, order, width, empty], part


def from_lists(packed: bytes) -> bytes:
    """JSON of which `to_lists` took the lists.

    Parameters
    ----------
    packed : bytes
        What it gave.

    Raises
    ------
    ValueError
        If it is damaged so that nothing can be made of it.
    """
    try:
        start = 2 * _HEAD
        told_size, rest_size = (int.from_bytes(packed[at : at + _HEAD], "little") for at in (0, _HEAD))
        told = json.loads(packed[start : start + told_size])
        rest = json.loads(packed[start + told_size : start + told_size + rest_size])
        lists = _lists(told, packed[start + told_size + rest_size :])
        return _text(_with(rest, lists)).encode()
    except (KeyError, TypeError, IndexError, StopIteration, RuntimeError, RecursionError) as error:
        raise ValueError("the lists are damaged") from error


def _lists(told: list[Any], parts: bytes) -> Iterator[list[float | None]]:
    start = 0
    for places, rows, order, width, empty in told:
        part = parts[start : start + width * rows]
        start += width * rows
        values: list[float | None] = (from_planes(part, rows, order, width) / 10.0**places).tolist()
        for at in empty:
            values[at] = None
        yield values


def _with(tree: Any, lists: Iterator[list[float | None]]) -> Any:  # noqa: ANN401 - whatever JSON holds
    if tree == _MARK:
        return next(lists)
    if isinstance(tree, dict):
        return {key: _with(value, lists) for key, value in tree.items()}
    if isinstance(tree, list):
        return [_with(value, lists) for value in tree]
    return tree
