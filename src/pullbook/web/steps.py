"""What a session still needs before builds can be compared, in the words of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.quantities.phrases import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.records.draft import Draft, Problem

__all__ = ["next_steps"]


def next_steps(draft: Draft) -> list[dict[str, str]]:
    """Steps in the order in which they are best taken, each with the part of the page where it is taken.

    Parameters
    ----------
    draft : Draft
        What the session file says.

    Returns
    -------
    list of dict
        ``words`` and ``anchor`` of each; empty where nothing is missing.
    """
    return [{"words": words, "anchor": anchor} for words, anchor in _steps(draft)]


def _steps(draft: Draft) -> Iterator[tuple[str, str]]:
    missing = [problem for problem in draft.problems if problem.unfinished]
    if not missing:
        return
    builds = _entries(draft, "build")
    run = {str(pull.get("build")) for pull in _entries(draft, "pull")}
    if not builds:
        yield "Say which builds there are: the engine with one set of parts each", "builds"
    elif len(builds) == 1:
        yield "Add a second build: one alone has nothing to be compared with", "builds"
    if builds and not any(build.get("baseline") for build in builds):
        yield "Say which build is the baseline", "builds"
    without = [str(build.get("name")) for build in builds if str(build.get("name")) not in run]
    if without:
        many = "have" if len(without) > 1 else "has"
        yield f"{listed(without)} {many} no pulls yet: drop the files of the bench on the build", "files"
    for problem in missing:
        if not (problem.elsewhere or _is_told(problem)):
            yield (
                f"{problem.at}: {problem.what}",
                f"f-{problem.at.replace('[', '-').replace('].', '-').replace('.', '-')}",
            )


def _is_told(problem: Problem) -> bool:
    """Whether one of the steps above says it in other words."""
    return (
        not problem.at or problem.at in {"build", "pull"} or (problem.at.startswith("build[") and "." not in problem.at)
    )


def _entries(draft: Draft, key: str) -> list[dict[str, object]]:
    found = draft.values.get(key)
    return [entry for entry in found if isinstance(entry, dict)] if isinstance(found, list) else []
