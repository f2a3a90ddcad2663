"""What the templates of the working page are filled with: the draft, the findings that were kept, what goes on."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any, Final

from pullbook.capture.session_file_keys import LIMITED, OBSERVED
from pullbook.errors import Way
from pullbook.records.declaration import Standard
from pullbook.web.archive_part import archive_part
from pullbook.web.engine_part import engine_part
from pullbook.web.file_cards import file_cards
from pullbook.web.plan_part import plan_part
from pullbook.web.remedies import offers
from pullbook.web.shown import shown_of
from pullbook.web.staged import staged_context
from pullbook.web.steps import next_steps
from pullbook.web.templating import stamp

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.app.sessions import SessionPlace
    from pullbook.records.draft import Draft, Problem
    from pullbook.web.jobs import Job
    from pullbook.web.notebook import Notebook
    from pullbook.web.shown import Shown, Wanted

__all__ = ["session_context"]

INDUCTIONS: Final = (
    "natural", "supercharged", "turbocharged", "turbocharged, air-to-air cooler", "turbocharged, air-to-liquid cooler",
)  # fmt: skip
_SHOWN_LIMITS: Final = ("oil_temperature", "coolant_temperature", "mixture")
_EXAMPLES: Final = {
    "oil_temperature": "80..105 degC", "coolant_temperature": "75..95 degC", "mixture": "0.84..0.90 lambda",
    "spark": "20..34 deg", "sweep_rate": "200..400 rpm/s", "exhaust_temperature": "600..950 degC",
}  # fmt: skip
_WORDS: Final = {"ok": "fine", "look": "look", "unfit": "unfit"}


async def session_context(notebook: Notebook, place: SessionPlace, draft: Draft, wanted: Wanted) -> dict[str, Any]:
    """Everything that the template of a session's page names.

    Parameters
    ----------
    notebook : Notebook
        The served folder.
    place : SessionPlace
        The session.
    draft : Draft
        What its file says.
    wanted : Wanted
        What the page asks for.

    Returns
    -------
    dict of str to object
        For `notebook.html.j2`.
    """
    asked, key = wanted.asked, wanted.answer[0] if wanted.answer else ""
    shown = await shown_of(notebook, place, draft, wanted)
    job, sections = shown.job, shown.sections
    values = draft.values
    session = _table(values, "session")
    builds = _tables(values, "build")
    names = [str(build.get("name", "")) for build in builds if build.get("name")]
    pulls = _tables(values, "pull")
    context: dict[str, Any] = {
        "place": place,
        "draft": draft,
        "asked": asked,
        "key": shown.key,
        "changed": shown.changed,
        "shown": shown.state,
        "values": values,
        "title": str(session.get("title") or place.name),
        "question": str(session.get("question") or ""),
        "meta": list(shown.parts["meta"]) if shown.parts and not shown.changed else [],
        "sections": sections,
        "problems": draft.problems,
        "steps": next_steps(draft),
        "wrong_count": sum(not problem.unfinished for problem in draft.problems),
        "factors": _tables(values, "factor"),
        "builds": builds,
        "build_names": names,
        "labels": {str(build.get("name", "")): _label(build) for build in builds},
        "next_build": _next_name(names),
        "claims": _tables(values, "claim"),
        "standards": [str(standard) for standard in Standard],
        "received": [OBSERVED, *(str(standard) for standard in Standard if standard is not Standard.NONE)],
        "inductions": INDUCTIONS,
        "baseline": next((str(build.get("name", "")) for build in builds if build.get("baseline")), ""),
        "session_standard": str(session.get("standard") or ""),
        "job": None if job is None else job.as_json(),
        "can_write_weather": offers(job.error if job else None, Way.TEMPERATURE, Way.PRESSURE, Way.HUMIDITY),
        "can_go_without_bands": offers(job.error if job else None, Way.WITHOUT_BANDS),
        "setup_open": not sections and not pulls,
        "setup_words": _setup_words(names, _tables(values, "claim")),
        "lines": _lines(draft),
        "syntax_error": not values and bool(draft.problems),
        "engine_part": await engine_part(notebook, place, values, asked, shown.key),
        **await plan_part(notebook, place, values, asked),
        **_limits(values),
        **await file_cards(notebook, place, draft),
        **await asyncio.to_thread(staged_context, notebook, place, key),
    }
    context["entries"] = _entries(pulls, shown, context["cards"])
    context["without_air"] = sum(not entry["air"] for entry in context["entries"])
    context["archive"] = (
        await archive_part(notebook, place, opened=wanted.opened) if sections or _is_refused(job) else None
    )
    context["run_stamp"] = stamp((draft.revision, context["entries"], asked.units))
    context["ask_stamp"] = stamp((asked, draft.revision, bool(sections or job)))
    context["contents"] = _contents(context)
    context["pending_stamp"] = stamp((key, shown.changed, context["job"], context["absent"]))
    context["mast_stamp"] = stamp((asked, context["title"], context["meta"], shown.state))
    return context


def _is_refused(job: Job | None) -> bool:
    """Whether the data cannot answer; such a session can be remembered all the same."""
    return job is not None and job.state == "failed"


def _table(values: Mapping[str, object], key: str) -> Mapping[str, Any]:
    found = values.get(key)
    return found if isinstance(found, dict) else {}


def _tables(values: Mapping[str, object], key: str) -> list[Mapping[str, Any]]:
    found = values.get(key)
    return [entry for entry in found if isinstance(entry, dict)] if isinstance(found, list) else []


def _label(build: Mapping[str, Any]) -> str:
    levels = build.get("levels")
    return str(build.get("label") or (", ".join(map(str, levels.values())) if isinstance(levels, dict) else ""))


def _next_name(names: Sequence[str]) -> str:
    """Next letter that no build has."""
    return next((letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if letter not in names), f"B{len(names) + 1}")


def _setup_words(names: Sequence[str], claims: Sequence[object]) -> str:
    builds = f"{len(names)} build{'' if len(names) == 1 else 's'}"
    return f"{builds}, {len(claims)} claim{'' if len(claims) == 1 else 's'}: change, add or take out"


def _limits(values: Mapping[str, object]) -> dict[str, object]:
    limits = _table(values, "limits")
    shown = [*dict.fromkeys((*_SHOWN_LIMITS, *limits))]
    known = [str(channel) for channel in LIMITED]
    return {
        "shown_limits": [name for name in shown if name in known],
        "other_limits": [name for name in known if name not in shown],
        "limit_examples": _EXAMPLES,
    }


def _entries(
    pulls: Sequence[Mapping[str, Any]], shown: Shown, files: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Run order of the file, each line with its little curve and with what the checks say of it."""
    curves = {one["number"]: one["picture"] for file in files for one in file["pulls"] if one["number"]}
    before = "before: " if shown.changed else ""
    lines = [_entry(pull, card, before) for pull, card in zip(pulls, _checked(pulls, shown), strict=True)]
    return [{**line, "picture": curves.get(number, "")} for number, line in enumerate(lines, start=1)]


def _checked(pulls: Sequence[Mapping[str, Any]], shown: Shown) -> list[Mapping[str, Any] | None]:
    """What the findings say of each line; those of before are told by the file, where it has one pull in it."""
    found: list[Mapping[str, Any]] = list(shown.parts["pulls"]) if shown.parts else []
    if not shown.changed:
        return [*found] if len(found) == len(pulls) else [None] * len(pulls)
    named = [card["file"] for card in found]
    once = {card["file"]: card for card in found if named.count(card["file"]) == 1}
    return [once.get(str(pull.get("file"))) for pull in pulls]


def _entry(pull: Mapping[str, Any], card: Mapping[str, Any] | None, before: str) -> dict[str, Any]:
    time = str(pull.get("time") or "")
    entry: dict[str, Any] = {
        "checks": [], "state": "", "tone": "", "left_out": "", "which": "", **pull,
        "clock": time[11:16] if "T" in time else time[:5],
    }  # fmt: skip
    if not isinstance(entry.get("air"), dict):
        entry["air"] = {}
    if card is None:
        return entry
    entry["checks"] = [
        {**check, "word": _WORDS.get(check["level"], check["level"])}
        for check in card["checks"]
        if check["level"] != "ok"
    ]
    if card["used"]:
        entry["state"] = f"{before}in the findings"
        entry["tone"] = "open" if entry["checks"] else "fine"
    else:
        entry["state"] = f"{before}not in the findings"
        entry["tone"] = "warning"
    return entry


def _lines(draft: Draft) -> list[dict[str, str]]:
    """Lines of the file with what is wrong in each."""
    wrong: dict[int, list[Problem]] = {}
    for problem in draft.problems:
        if not problem.unfinished:
            wrong.setdefault(problem.line, []).append(problem)
    lines = draft.text.split("\n")
    if lines and not lines[-1]:
        lines.pop()
    return [
        {"text": line, "wrong": " ".join(_said(problem) for problem in wrong.get(number, []))}
        for number, line in enumerate(lines, start=1)
    ]


def _said(problem: Problem) -> str:
    return f"{problem.what}{f'; {problem.remedy}' if problem.remedy else ''}."


def _contents(context: Mapping[str, Any]) -> list[tuple[str, str]]:
    sections: Mapping[str, str] = context["sections"]
    contents = [("question", "Question"), ("setup", "What is tested"), ("plan", "Plan"), ("files", "Files"),
                ("run-order", "Run sheet"), ("what-next", "What next?")]  # fmt: skip
    absent = {"plan": not context["plan"], "run-order": not context["entries"], "what-next": not context["what_next"]}
    contents = [one for one in contents if not absent.get(one[0])]
    words = {
        "pulls": "Pulls", "findings": "Findings", "curves": "Curves", "windows": "Windows and peaks",
        "claims": "Claims", "effects": "Effects", "method": "Method", "cautions": "Cautions",
        "provenance": "Provenance",
    }  # fmt: skip
    if context["engine_part"]["cards"]:
        words["engine"] = "Virtual engine"
    order = ("pulls", "findings", "curves", "windows", "claims", "effects", "engine", *words)
    contents += [(name, words[name]) for name in dict.fromkeys(order) if name in sections or name == "engine" in words]
    if sections:
        contents.append(("publish", "Publish"))
    if context["archive"]:
        contents.append(("archive", "Archive"))
    return [*contents, ("file", "The file")]
