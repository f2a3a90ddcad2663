"""Where every number came from: file, hash, rows, columns, recipe."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.parts import Both, both
from pullbook.records.check import Level

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.publish.telling import Telling
    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.check import Check
    from pullbook.records.result import PullStatus

__all__ = ["pull_cards"]

_CHECK_WORDS = {Level.OK: "fine", Level.LOOK: "look", Level.UNFIT: "unfit"}


def pull_cards(pair: Both[Telling]) -> list[dict[str, object]]:
    """What the page says of each pull, in run order: checks, file, hash, rows, recipe.

    Parameters
    ----------
    pair : Both of Telling
        The session for both kinds of reader.

    Returns
    -------
    list of dict
        One for each pull, all values ready to be printed.
    """
    return [_card(number, status, pair) for number, status in enumerate(pair.metric.result.pulls, start=1)]


def _card(number: int, status: PullStatus, pair: Both[Telling]) -> dict[str, object]:
    result = pair.metric.result
    source, rows = status.pull.source, status.corrected.rows
    checks = [check for check in result.checks if check.pull == status.pull.name]
    entry = result.session.pulls[number - 1] if number <= len(result.session.pulls) else None
    return {
        "number": number,
        "name": status.pull.name,
        "build": status.build,
        "fitting": status.fitting,
        "clock": status.clock,
        "used": status.used,
        "because": _both(pair, status.reason),
        "worst": _worst(checks),
        "checks": [_check(check, pair) for check in sorted(checks, key=lambda check: _CHECK_ORDER[check.level])],
        "sha256": source.sha256,
        "short": source.sha256[:12],
        "file": source.name,
        "size": f"{source.size:,}",
        "layout": source.layout,
        "rows": f"{int(rows.min()):,} to {int(rows.max()):,}" if rows.size else "none",
        "samples": f"{rows.size:,}",
        "direction": str(status.pull.direction),
        "received": str(entry.received) if entry is not None else "",
        "steps": [
            {"name": step.name, "value": f"{step.value:.6g} {step.unit}".removesuffix(" 1"), "source": step.source}
            for step in status.corrected.steps
        ],
        "flags": [*status.corrected.flags, *status.pull.doubts],
    }


def _both(pair: Both[Telling], words: Callable[[UnitSystem], str]) -> Both[str]:
    return both(pair, lambda telling: words(telling.system))


_CHECK_ORDER = {Level.UNFIT: 0, Level.LOOK: 1, Level.OK: 2}


def _check(check: Check, pair: Both[Telling]) -> dict[str, object]:
    return {
        "level": str(check.level), "word": _CHECK_WORDS[check.level], "says": _both(pair, check.worded),
        "remedy": check.remedy, "check": check.check.replace("_", " "),
    }  # fmt: skip


def _worst(checks: list[Check]) -> str:
    levels = {check.level for check in checks}
    return next(
        (_CHECK_WORDS[level] for level in (Level.UNFIT, Level.LOOK, Level.OK) if level in levels), "not checked"
    )
