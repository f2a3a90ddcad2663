"""Whether an effect that a session kept is the change that is asked for, and which way round."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pullbook.remember.words import stem, stems

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.records.archive_answer import ArchiveQuestion, DimensionAsked
    from pullbook.records.pooled import ChangeAsked

__all__ = ["which_way"]


def which_way(effect: Mapping[str, Any], asked: ChangeAsked) -> int:
    """Tell whether an effect is a change.

    Parameters
    ----------
    effect : mapping
        An effect of ``pullbook.evidence/1``.
    asked : ChangeAsked
        The change.

    Returns
    -------
    int
        1 where it is, -1 where it is the other way round, 0 where it is something else, or could be both.

    Examples
    --------
    >>> from pullbook.records.archive_answer import ArchiveQuestion
    >>> from pullbook.records.pooled import ChangeAsked
    >>> level = lambda name: {"words": [name], "dimensions": []}
    >>> asked = ChangeAsked(written="", to=ArchiveQuestion(words=("4-2-1",)), from_=ArchiveQuestion(words=("4-1",)), step=0)
    >>> which_way({"factor": "header", "from": level("4-1"), "to": level("4-2-1")}, asked)
    1
    >>> which_way({"factor": "header", "from": level("4-2-1"), "to": level("4-1")}, asked)
    -1
    """  # noqa: E501 - a doctest line cannot be broken
    if asked.step:
        return _stepped(effect, asked)
    forward = _between(effect, asked, effect["to"], effect["from"])
    back = _between(effect, asked, effect["from"], effect["to"])
    return int(forward) - int(back)


def _between(effect: Mapping[str, Any], asked: ChangeAsked, to: Mapping[str, Any], from_: Mapping[str, Any]) -> bool:
    return _is(effect, asked.to, to) and _is(effect, asked.from_, from_)


def _is(effect: Mapping[str, Any], side: ArchiveQuestion, level: Mapping[str, Any]) -> bool:
    """A level has the words and dimensions of one side."""
    if not _said(_common(effect) | stems(level["words"]), side.words):
        return False
    return all(any(_has(one, asked) for one in level["dimensions"]) for asked in side.dimensions)


def _common(effect: Mapping[str, Any]) -> set[str]:
    """Words of the change as a whole: the factor and its dimensions; parts belong to one of the levels."""
    named = [one["name"].replace("_", " ") for side in ("from", "to") for one in effect[side]["dimensions"]]
    return stems([effect["factor"], *named])


def _said(there: set[str], words: tuple[str, ...]) -> bool:
    return all(_begins(there, stem(word)) for word in words)


def _begins(there: set[str], word: str) -> bool:
    """A word begins so; a number has to be the whole of it."""
    return word in there or (not word.isdigit() and any(one.startswith(word) for one in there))


def _has(one: Mapping[str, Any], asked: DimensionAsked) -> bool:
    return bool(one["kind"] == asked.kind and asked.low <= one["value"] <= asked.high)


def _stepped(effect: Mapping[str, Any], asked: ChangeAsked) -> int:
    """Way of an effect between two levels of which one is larger by so much."""
    there = _common(effect) | stems([*effect["from"]["words"], *effect["to"]["words"]])
    if not _said(there, asked.to.words):
        return 0
    ways = {_step(effect, one) for one in asked.to.dimensions}
    return asked.step * next(iter(ways)) if len(ways) == 1 else 0


def _step(effect: Mapping[str, Any], asked: DimensionAsked) -> int:
    for one in effect["to"]["dimensions"]:
        for other in effect["from"]["dimensions"]:
            if (one["name"], one["kind"], asked.kind) == (other["name"], other["kind"], one["kind"]):
                step = one["value"] - other["value"]
                if asked.low <= abs(step) <= asked.high:
                    return 1 if step > 0.0 else -1
    return 0
