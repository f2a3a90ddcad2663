"""What stands behind a number of the page: the pulls, the recipe, the assumptions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.publish.method import standard_words
from pullbook.quantities.phrases import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pullbook.publish.telling import Telling
    from pullbook.records.result import PullStatus

__all__ = ["origins"]

_ALL = "origin-all"


def origins(telling: Telling) -> dict[str, object]:
    """Origins of all numbers of a page.

    Parameters
    ----------
    telling : Telling
        The result.

    Returns
    -------
    dict
        ``listed``: each origin with anchor, title, how it was made, and pulls; ``pairs`` and ``builds``: address of the
        origin of a comparison as "B-A", and of a build; ``all``: that of what rests on every pull.
    """
    session, findings = telling.session, telling.findings
    compared = {(difference.of, difference.from_) for difference in findings.differences}
    order = {build.name: place for place, build in enumerate(session.builds)}
    claims = {(claim.of, claim.from_) for claim in session.claims if {claim.of, claim.from_} <= set(order)}
    pairs = sorted(claims | compared, key=lambda pair: (order[pair[0]], order[pair[1]]))
    listed = [_origin(telling, _ALL, "Everything that rests on all pulls", order)]
    addresses: dict[str, dict[str, str]] = {"pairs": {}, "builds": {}}
    for number, (of, from_) in enumerate(pairs, start=1):
        anchor = f"origin-pair-{number}"
        pair = f"{telling.named(of)} against {telling.named(from_)}"
        listed.append({**_origin(telling, anchor, pair, (of, from_)), "pair": f"{of}-{from_}"})
        addresses["pairs"][f"{of}-{from_}"] = f"#{anchor}"
    for number, build in enumerate(findings.builds, start=1):
        anchor = f"origin-build-{number}"
        listed.append(_origin(telling, anchor, telling.named(build.name), (build.name,)))
        addresses["builds"][build.name] = f"#{anchor}"
    return {"listed": listed, "all": f"#{_ALL}", **addresses}


def _origin(telling: Telling, anchor: str, title: str, builds: Iterable[str]) -> dict[str, object]:
    """One origin, ready to be printed."""
    wanted = set(builds)
    pulls = [(number, status) for number, status in enumerate(telling.result.pulls, start=1) if status.build in wanted]
    return {
        "anchor": anchor,
        "title": title,
        "pair": "",
        "made": _made(telling, len(wanted)),
        "pulls": [_pull(telling, number, status) for number, status in pulls],
    }


def _made(telling: Telling, builds: int) -> list[str]:
    """How a number comes from its pulls, in sentences."""
    used = counted(sum(status.used for status in telling.result.pulls), "pull")
    curve = {1: "The curve is the mean of its pulls", 2: "Each of the two curves is the mean of its pulls"}
    mean = curve.get(builds, "Each curve is the mean of its pulls")
    told = [f"{mean}, {_recipe(telling)}. Each step of the recipe, with its value, stands under the pull."]
    if telling.findings.has_bands:
        told.append(
            f"The interval rests on how all {used} that were used repeat, on what re-fitting parts does, and on the "
            f"drift of the day, which is taken out of the curves: they are those of the middle of the session."
        )
    return told


def _recipe(telling: Telling) -> str:
    inertia = " after the torque that accelerates the rotating parts was added" if telling.session.inertia else ""
    if telling.relative:
        return "each as a share of the baseline"
    return f"each {standard_words(telling)}{inertia}"


def _pull(telling: Telling, number: int, status: PullStatus) -> dict[str, object]:
    rows = status.corrected.rows
    return {
        "number": number,
        "name": status.pull.name,
        "build": status.build,
        "file": status.pull.source.name,
        "clock": status.clock,
        "rows": f"{int(rows.min()):,} to {int(rows.max()):,}" if rows.size else "none",
        "factor": "" if telling.relative else _factor(status.corrected.factor),
        "used": status.used,
    }


def _factor(factor: Sequence[float] | np.ndarray) -> str:
    """Mean factor of correction, with four decimals."""
    values = np.asarray(factor, dtype=float)
    return f"{float(np.mean(values)):.4f}" if values.size else ""
