"""What ``pullbook capture`` prints: each file as it was understood."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.app.captured_json import pull_in_words
from pullbook.cli.remedies import sentence_of
from pullbook.errors import PullbookError
from pullbook.quantities.channels import Channel
from pullbook.quantities.showing import show, show_range

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pullbook.app.read_pulls import CapturedFile, CapturedTable
    from pullbook.capture.segment import Segmentation
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.pull import Log

__all__ = ["print_captured"]

_LINE: Final = re.compile(r"""(\w+) = \{ column = "(?!THE NAME)(.+?)"(?:, unit = "(.+?)")? \}""")
_Result = tuple[str, "CapturedFile | PullbookError"]


def print_captured(results: Sequence[_Result], system: UnitSystem) -> None:
    """Print what was understood of each file."""
    for number, (name, result) in enumerate(results):
        if number:
            print()
        if isinstance(result, PullbookError):
            print(f"{name}\n  refused: {_without_name(sentence_of(result), name)}")
            continue
        source = result.source
        print(f"{name}\n  {source.layout}; {source.size:,} bytes, sha256 {source.sha256[:12]}")
        for table in result.tables:
            for line in _table_lines(table, system, name):
                print(f"  {line}")


def _options(error: PullbookError) -> list[str]:
    """Options of this command that do what the lines for ``session.toml`` in a remedy do."""
    found = _LINE.findall(error.remedy)
    return [f"--column '{channel}={column}" + (f" [{unit}]'" if unit else "'") for channel, column, unit in found]


def _without_name(sentence: str, name: str) -> str:
    return sentence.removeprefix(f"{name}: ")


def _table_lines(table: CapturedTable, system: UnitSystem, name: str) -> Iterator[str]:
    if table.sheet:
        yield f"[{table.sheet}] {table.rows:,} records"
    if table.log is not None:
        yield from _channel_lines(table.log, system)
    if table.refused is not None:
        yield f"refused: {_without_name(sentence_of(table.refused), name)}"
        for option in _options(table.refused):
            yield f"to try it here: {option}"
    if table.log is not None and table.segmentation is not None:
        yield from _pull_lines(table.log, table.segmentation, system)


def _pull_lines(log: Log, found: Segmentation, system: UnitSystem) -> Iterator[str]:
    yield f"pulls: {len(found.pulls)}" if found.pulls else "pulls: none at full throttle"
    for pull in found.pulls:
        yield f"  {pull.name}: {pull_in_words(pull, system)}"
    for says, times in Counter(aside.says for aside in found.set_aside).items():
        yield f"  set aside: {says}" + (f" ({times} times)" if times > 1 else "")
    for doubt in dict.fromkeys((*log.doubts, *(doubt for pull in found.pulls for doubt in pull.doubts))):
        yield f"doubt: {doubt}"


def _channel_lines(log: Log, system: UnitSystem) -> Iterator[str]:
    width = max((len(choice.channel) for choice in log.choices), default=0)
    for choice in log.choices:
        values = log.channels.get(choice.channel)
        finite = values[np.isfinite(values)] if values is not None else np.empty(0)
        span = f"{_span(finite, choice.channel, system)}; " if finite.size else "no values; "
        unit = f" [{choice.unit}]" if choice.unit else ""
        yield f"{choice.channel:{width}}  {span}column '{choice.column}'{unit}, because {choice.reason}"
    stated = [
        show(value, channel, system)
        for value, channel in (
            (log.air.temperature, Channel.AIR_TEMPERATURE), (log.air.pressure, Channel.AIR_PRESSURE),
            (log.air.humidity, Channel.AIR_HUMIDITY),
        ) if value is not None
    ]  # fmt: skip
    if stated:
        yield f"air stated outside the table: {', '.join(stated)}; taken where neither a column nor session.toml has it"
    if log.ignored:
        shown = ", ".join(f"'{name}'" for name in log.ignored[:8])
        more = f" and {len(log.ignored) - 8} more" if len(log.ignored) > 8 else ""
        yield f"not used: {shown}{more}"


def _span(finite: np.ndarray, channel: Channel, system: UnitSystem) -> str:
    low, high = float(finite.min()), float(finite.max())
    return show(low, channel, system) if low == high else show_range(low, high, channel, system)
