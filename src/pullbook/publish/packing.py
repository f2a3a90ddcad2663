"""`packed`: a Plotly figure in the small form in which it travels; ``unpack.js`` opens it again.

Curves are smooth, so that the change of the change from point to point is a small whole number: compressed, a curve
of a hundred points takes about as many bytes. What hovering reads is packed in the same way, digit for digit.
"""

from __future__ import annotations

import math
import re
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["packed"]

_STEPS: Final = 10_000  # smallest number of steps of a height over the range of its axis
_NUMBER: Final = re.compile(r"[+\u2212]?\d+(?:\.(\d+))?")


def packed(figure: dict[str, Any]) -> dict[str, Any]:
    """Figure with its arrays packed.

    ``x`` becomes ``{first, step, count}`` where its steps are even, ``y`` becomes ``{step, turns}``, and the texts of
    ``customdata`` become ``{forms, runs, turns}``.

    Parameters
    ----------
    figure : dict
        As `pullbook.publish.interactive.plotly_figure` makes it.

    Returns
    -------
    dict
        The figure; everything else is as it was.

    Notes
    -----
    Heights are rounded to less than a ten-thousandth of the range of their axis, a thirtieth of a pixel on the screen.
    Speeds and texts come back exactly; where they would not, they stay as they are.
    """
    heights = {key.removesuffix("axis").replace("axis", ""): _step(axis["range"]) for key, axis in _y_axes(figure)}
    return {**figure, "data": [_trace(trace, heights[trace["yaxis"]]) for trace in figure["data"]]}


def _y_axes(figure: dict[str, Any]) -> Iterable[tuple[str, dict[str, Any]]]:
    return ((key, axis) for key, axis in figure["layout"].items() if key.startswith("yaxis"))


def _step(ends: Sequence[float]) -> float:
    """Power of ten that is small for an axis."""
    return float(10.0 ** math.floor(math.log10((ends[1] - ends[0]) / _STEPS)))


def _trace(trace: dict[str, Any], step: float) -> dict[str, Any]:
    if trace["meta"]["part"] == "marker":
        return trace
    whole = [None if value is None else round(value / step) for value in trace["y"]]
    made = {**trace, "x": _even(trace["x"]), "y": {"step": step, "turns": _turns(whole)}}
    if "customdata" in trace:
        made["customdata"] = _words(trace["customdata"])
    return made


def _even(values: list[float]) -> list[float] | dict[str, float]:
    """First value, step and count of numbers with even steps."""
    step = values[1] - values[0] if len(values) > 2 else 0.0
    if step == 0.0 or any(later - earlier != step for earlier, later in pairwise(values)):
        return values
    return {"first": values[0], "step": step, "count": len(values)}


def _turns(whole: Iterable[int | None]) -> list[int | None]:
    """Change of the change of whole numbers; a gap stays a gap."""
    last = change = 0
    made: list[int | None] = []
    for value in whole:
        if value is None:
            made.append(None)
            continue
        made.append(value - last - change)
        last, change = value, value - last
    return made


def _words(texts: list[str]) -> list[str] | dict[str, Any]:
    """Texts of the same form as the form and their numbers, counted in units of the last digit."""
    read = [_form(text) for text in texts]
    if [_text(*one) for one in read] != texts:
        return texts
    forms = list(dict.fromkeys(form for form, *_ in read))
    runs: list[list[int]] = []
    turns: list[list[int | None]] = []
    for (form, decimals, signed), group in groupby(read, key=lambda one: one[:3]):
        rows = [numbers for *_, numbers in group]
        runs.append([forms.index(form), decimals, int(signed), len(rows)])
        turns += [_turns(column) for column in zip(*rows, strict=True)]
    return {"forms": forms, "runs": runs, "turns": turns}


def _form(text: str) -> tuple[str, int, bool, list[int]]:
    """Text with a mark for each number, decimals, whether the plus is written, and the numbers in last digits."""
    found = list(_NUMBER.finditer(text))
    decimals = max((len(number.group(1) or "") for number in found), default=0)
    counted = [int(number.group().replace("\u2212", "-").replace(".", "")) for number in found]
    return _NUMBER.sub("#", text), decimals, "+" in text, counted


def _text(form: str, decimals: int, signed: bool, numbers: list[int]) -> str:  # noqa: FBT001 - as `_form` gives it
    """The text again, as ``unpack.js`` writes it."""
    first, *rest = form.split("#")
    return first + "".join(
        _digits(number, decimals, signed=signed) + part for number, part in zip(numbers, rest, strict=True)
    )


def _digits(number: int, decimals: int, *, signed: bool) -> str:
    sign = "\u2212" if number < 0 else "+" if signed and number > 0 else ""
    return f"{sign}{abs(number) / 10**decimals:.{decimals}f}"
