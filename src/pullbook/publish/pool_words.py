"""What several sessions say together, in sentences."""

from __future__ import annotations

from math import isfinite, nan
from typing import TYPE_CHECKING, Final

from pullbook.publish.figures import rounded
from pullbook.publish.speeds import rpm_range
from pullbook.quantities.phrases import counted, listed
from pullbook.quantities.rounding import digits
from pullbook.records.curve import Interval

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.records.pool import Pool, PoolLine, PoolRow, PoolWindow

__all__ = [
    "curve_sentences",
    "honest_sentences",
    "own_interval",
    "pool_sentences",
    "row_named",
    "stated",
    "window_sentence",
]

_NORMAL: Final = 1.959963984540054  # 97.5 % of a normal distribution
_CHANCE: Final = 0.05  # where Cochran's Q is no rarer than this, the differences may be chance
_DIFFER: Final = {
    "none seen": "No difference between the sessions is seen beyond their own doubts.",
    "low": "The sessions differ a little more than their own doubts explain",
    "moderate": "The sessions differ more than their own doubts explain",
    "high": "Most of what the sessions differ by is real: the change does not do the same on every engine",
}


def _sign(interval: Interval | tuple[float, float]) -> int:
    low, high = interval if isinstance(interval, tuple) else (interval.low, interval.high)
    return int(low > 0.0) - int(high < 0.0)


def _ends(low: float, high: float, unit: str) -> str:
    half = 0.5 * (high - low)
    return f"{rounded(low, half, signed=True)} to {rounded(high, half, signed=True)} {unit}"


def own_interval(effect: float, sd: float) -> Interval:
    """What one session says of itself, at 95 %.

    Parameters
    ----------
    effect, sd : float
        Gain and its standard deviation. [any]

    Examples
    --------
    >>> own = own_interval(1.0, 0.5)
    >>> round(own.low, 2), round(own.high, 2)
    (0.02, 1.98)
    """
    return Interval(value=effect, low=effect - _NORMAL * sd, high=effect + _NORMAL * sd)


def stated(interval: Interval, unit: str) -> str:
    """Number with its interval, as in "+1.6 % (+0.7 to +2.6)".

    Parameters
    ----------
    interval : Interval
        The number. [as `unit` says]
    unit : str
        Its unit.
    """
    half = 0.5 * (interval.high - interval.low)
    if not isfinite(half):
        return f"{digits(interval.value, 1, signed=True)} {unit}"
    ends = _ends(interval.low, interval.high, unit).removesuffix(f" {unit}")
    return f"{rounded(interval.value, half, signed=True)} {unit} ({ends})"


def row_named(row: PoolRow) -> str:
    """Session by its name in the archive, title and day.

    Parameters
    ----------
    row : PoolRow
        The session.
    """
    return f"{row.session} ({row.title}{', ' + row.day if row.day else ''})"


def window_sentence(window: PoolWindow) -> str:
    """What the sessions say of one window.

    Parameters
    ----------
    window : PoolWindow
        Pooled gains. [as its unit says]
    """
    where = rpm_range(window.from_rpm, window.to_rpm)
    count = len(window.rows)
    if count == 1:
        half = _NORMAL * window.sd[0]
        value = f"{rounded(window.effect[0], half, signed=True)} ± {rounded(half, half)} {window.unit}"
        return f"From {where}: {value}, from one session alone, by its own doubt."
    mean = stated(window.mean, window.unit)
    way = _sign(window.mean)
    says = {1: "the change gains on average", -1: "the change gives up on average", 0: "it is not decided whether the "
            "change gains or gives up on average"}[way]  # fmt: skip
    return f"From {where} {says}: {mean}, over {counted(count, 'session')}."


def pool_sentences(pool: Pool) -> tuple[str, ...]:
    """Everything that is told of the whole range, then the windows, the engines and what was done beside.

    Parameters
    ----------
    pool : Pool
        The sessions together. [%, N m]
    """
    shares = [window for window in pool.windows if window.unit == "%"]
    whole = shares[0]
    said = [window_sentence(whole)]
    if len(pool.rows) == 1:
        said.append("This is a pool of one: what the change does on another engine cannot be said from it.")
    else:
        said += [_next(whole), _differ(whole), *_carried(pool, whole)]
    said += [window_sentence(window) for window in shares[1:]]
    said += [_line(line) for line in pool.lines]
    return (*said, *pool.notes)


def _next(window: PoolWindow) -> str:
    if window.next_engine is None:
        return "What the next engine shows is not said below three sessions."
    rough = "; approximate, with fewer than ten sessions" if window.approximate else ""
    ends = _ends(*window.next_engine, window.unit)
    way = {1: "gain", -1: "give up", 0: "show anything"}[_sign(window.next_engine)]
    return f"The next engine will probably {way} from {ends} (in 95 of 100 cases{rough})."


def _differ(window: PoolWindow) -> str:
    words = _DIFFER[window.heterogeneity]
    if window.heterogeneity == "none seen":
        return words
    share, spread = digits(100.0 * window.i_squared, 0), digits(window.between_sd, 2)
    chance = "p < 0.001" if window.q_p < 0.001 else f"p = {digits(window.q_p, 3)}"
    perhaps = ", which may be chance" if window.q_p > _CHANCE else ""
    return (
        f"{words}: about {share} % of the scatter, a standard deviation of {spread} {window.unit} between sessions "
        f"({chance}{perhaps})."
    )


def _carried(pool: Pool, window: PoolWindow) -> Iterator[str]:
    """Sessions without which the answer would be another one."""
    if not window.without:
        return
    way = _sign(window.mean)
    carriers = [row for row, one in zip(window.rows, window.without, strict=True) if _sign(one) != way]
    if not carriers:
        yield "Without any one of the sessions the answer is the same."
    for row in carriers[:3]:
        one = window.without[window.rows.index(row)]
        answer = "it would be decided" if way == 0 else "it would not be decided" if _sign(one) == 0 else "it turns"
        yield f"Without session {row_named(pool.rows[row])} {answer}: {stated(one, window.unit)}."
    if len(carriers) > 3:
        yield f"The same holds of {counted(len(carriers) - 3, 'other session')}."


def _line(line: PoolLine) -> str:
    step = f"With {digits(line.step, 1).removesuffix('.0')} {line.unit} more {line.property_}"
    if _sign(line.slope) == 0:
        return f"{step} the effect changes by {stated(line.slope, '%')}: no link with {line.property_} is shown."
    share = f", which takes in {digits(100.0 * line.explained, 0)} % of the difference between engines"
    return (
        f"{step} the effect changes by {stated(line.slope, '%')}{share if isfinite(line.explained) else ''}; it need "
        "not come from it."
    )


def curve_sentences(pool: Pool) -> tuple[str, ...]:
    """Where the pooled curves are clear of zero.

    Parameters
    ----------
    pool : Pool
        The sessions together. [%]
    """
    said = []
    for curve in pool.curves:
        parts = []
        for way, word in ((1, "gains"), (-1, "gives up")):
            clear = [
                _sign((low, high)) == way for low, high in zip(curve.low.tolist(), curve.high.tolist(), strict=True)
            ]
            parts += [f"{word} from {_range(curve.axis, *ends)}" for ends in _runs(curve.x.tolist(), clear)]
        share = "on speeds as shares of that of the torque peak" if curve.axis == "share" else "on engine speed"
        found = listed(parts) if parts else "is decided nowhere"
        of = counted(len(curve.rows), "session")
        said.append(f"Over the whole curve at once, {share}, the change {found} ({of}).")
    return tuple(said)


def _range(axis: str, low: float, high: float) -> str:
    if axis == "rpm":
        return rpm_range(low, high)
    return f"{digits(low, 2)} to {digits(high, 2)} of it"


def _runs(x: list[float], clear: list[bool]) -> Iterator[tuple[float, float]]:
    first = nan
    for place, one in enumerate(clear):
        if one and (place == 0 or not clear[place - 1]):
            first = x[place]
        if one and (place == len(clear) - 1 or not clear[place + 1]):
            yield first, x[place]


def honest_sentences(
    told: tuple[int, int], windows: tuple[int, int], ends: tuple[float, float], rest: int
) -> list[str]:
    """How often the bands of the baseline against itself held.

    Parameters
    ----------
    told : tuple of (int, int)
        Sessions whose band contained zero everywhere, and all. [1]
    windows : tuple of (int, int)
        The same of mean gains over windows. [1]
    ends : tuple of (float, float)
        Interval of the share that holds in the long run. [1]
    rest : int
        Sessions that cannot be looked at so. [1]

    Examples
    --------
    >>> honest_sentences((19, 20), (57, 60), (0.751, 0.999), 0)[0]
    'The baseline against itself: in 19 of 20 sessions the 95 % band contained zero at every speed.'
    """
    held, count = told
    says = [
        f"The baseline against itself: in {held} of {count} sessions the 95 % band contained zero at every speed.",
        f"In the long run {digits(100 * ends[0], 0)} to {digits(100 * ends[1], 0)} % (binomial); 95 % is expected.",
        f"Mean gains over windows: {windows[0]} of {windows[1]} intervals contained zero.",
    ]
    if ends[1] < 0.95:
        says.append("The bands held less often than they say: look for drift, for parts that settle, for a change of "
                    "the bench between fittings.")  # fmt: skip
    elif ends[0] > 0.95:
        says.append("The bands held more often than they say: they are wider than they need be on this bench.")
    else:
        says.append("That agrees with what the bands say.")
    if rest:
        says.append(f"{counted(rest, 'other session').capitalize()} fitted the baseline once only, or repeated "
                    "nothing, and cannot say.")  # fmt: skip
    return says
