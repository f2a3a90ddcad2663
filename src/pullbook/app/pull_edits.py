"""Pulls of a file, as the lines that put them into the run order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

__all__ = ["edits_for", "edits_for_all", "edits_in_time", "edits_into_plan", "times_fit"]


def edits_for(
    card: Mapping[str, Any],
    build: str,
    *,
    which: Sequence[int] = (),
    columns: Mapping[str, Mapping[str, str]] | None = None,
    said: Mapping[str, object] | None = None,
) -> list[dict[str, Any]]:
    """Edits that add the pulls of a file to the end of the run order.

    Parameters
    ----------
    card : mapping
        The file, from `pullbook.app.session_files.file_card`.
    build : str
        Build that was on the bench.
    which : sequence of int
        Pulls of the file that are meant, from 1; empty for all of them. [1]
    columns : mapping or None
        Choices of the tester for this file; they go before those that were remembered.
    said : mapping or None
        Other keys of each pull and what they say: ``received``, ``air``, ``time``.

    Returns
    -------
    list of dict
        ``do``, ``at`` and ``value`` of each edit; the rules that were remembered are written out in it, so that the
        session needs no memory.

    Examples
    --------
    >>> edits_for({"file": "pulls/a1.csv", "pulls": [{"which": 1}], "columns": {}}, "A")
    [{'do': 'add', 'at': 'pull', 'value': {'build': 'A', 'file': 'pulls/a1.csv'}}]
    """
    there = [int(pull["which"]) for pull in card["pulls"]]
    rules = _rules(card.get("columns") or {}, columns or {})
    edits: list[dict[str, Any]] = []
    for number in which or there:
        value: dict[str, Any] = {"build": build, "file": card["file"]} | ({"which": number} if len(there) > 1 else {})
        told = {"received": card.get("received", ""), **(said or {})}
        value |= {key: words for key, words in told.items() if words}
        value |= {"columns": rules} if rules else {}
        edits.append({"do": "add", "at": "pull", "value": value})
    return edits


def edits_for_all(
    cards: Sequence[Mapping[str, Any]],
    build: str,
    values: Mapping[str, Any],
    *,
    columns: Mapping[str, Mapping[str, str]] | None = None,
    said: Mapping[str, object] | None = None,
) -> list[dict[str, Any]]:
    """Edits that add the pulls of several files, in the order in which they were made as far as that is known.

    Parameters
    ----------
    cards : sequence of mapping
        The files.
    build : str
        Build that was on the bench.
    values : mapping
        The session file, as plain data; it may be unfinished.
    columns, said : mapping or None
        As in `edits_for`, the same for all.

    Returns
    -------
    list of dict
        As `edits_for`. The times that the files state are written where `times_fit`.
    """
    told = all(card.get("time") for card in cards)
    ordered = sorted(cards, key=lambda card: str(card["time"])) if told else list(cards)
    timed = times_fit(ordered, values)
    edits: list[dict[str, Any]] = []
    for card in ordered:
        time = {"time": card["time"]} if timed else {}
        edits += edits_for(card, build, columns=columns, said={**time, **(said or {})})
    return edits


def edits_in_time(
    card: Mapping[str, Any], build: str, values: Mapping[str, Any], *, which: Sequence[int] = ()
) -> list[dict[str, Any]]:
    """Edits that add the pulls of one file at their place in the run order, where the file says when they were made.

    Parameters
    ----------
    card : mapping
        The file.
    build : str
        Build that was on the bench.
    values : mapping
        The session file, as plain data; it may be unfinished.
    which : sequence of int
        As in `edits_for`. [1]

    Returns
    -------
    list of dict
        As `edits_for`; at the end of the run order and without a time where the session has pulls without one, or the
        file states none.
    """
    time = str(card.get("time") or "")
    before = _times(values)
    later = [number for number, other in enumerate(before, start=1) if other > time]
    fits = times_fit([card], {**values, "pull": [{"time": other} for other in before if other <= time]})
    if not all(before) or not fits or any(len(other) != len(time) for other in before):
        return edits_for(card, build, which=which)
    edits = edits_for(card, build, which=which, said={"time": time})
    if later:
        edits = [{**edit, "at": f"pull[{later[0] + n}]"} for n, edit in enumerate(edits)]
    return edits


def edits_into_plan(
    card: Mapping[str, Any], build: str, values: Mapping[str, Any], to_come: Collection[str], *, which: Sequence[int]
) -> list[dict[str, Any]]:
    """Edits that put pulls of a file on the next planned lines of their build.

    Parameters
    ----------
    card : mapping
        The file.
    build : str
        Build that was on the bench.
    values : mapping
        The session file, as plain data; it may be unfinished.
    to_come : collection of str
        Files that the run order names and that are not there.
    which : sequence of int
        Pulls of the file that are meant, from 1. [1]

    Returns
    -------
    list of dict
        As `edits_in_time` for those pulls for which no line is planned.

    Examples
    --------
    >>> plan = {"pull": [{"build": "A", "file": "01-A.csv"}, {"build": "B", "file": "02-B.csv"}]}
    >>> edits_into_plan({"file": "x.csv", "pulls": [{"which": 1}]}, "B", plan, {"02-B.csv"}, which=[1])
    [{'do': 'set', 'at': 'pull[2].file', 'value': 'x.csv', 'was': '02-B.csv'}]
    """
    entries: list[Any] = values.get("pull") or []
    lines = [
        number for number, entry in enumerate(entries, start=1)
        if isinstance(entry, dict) and entry.get("build") == build and entry.get("file") in to_come
    ]  # fmt: skip
    edits: list[dict[str, Any]] = []
    for number, edit in zip(lines, edits_for(card, build, which=which), strict=False):
        said = {key: value for key, value in edit["value"].items() if key != "build"}
        edits += [
            {"do": "set", "at": f"pull[{number}].{key}", "value": value, "was": entries[number - 1].get(key)}
            for key, value in said.items()
        ]
    rest = which[len(lines) :]
    return edits + (edits_in_time(card, build, values, which=rest) if rest else [])


def _times(values: Mapping[str, Any]) -> list[str]:
    """When each pull of the run order was made; empty text where it does not say."""
    entries: list[Any] = values.get("pull") or []
    return [str(entry.get("time") or "") for entry in entries if isinstance(entry, dict)]


def times_fit(cards: Sequence[Mapping[str, Any]], values: Mapping[str, Any]) -> bool:
    """Whether the times that files state can stand behind the pulls that a session has.

    Parameters
    ----------
    cards : sequence of mapping
        The files, in the order in which their pulls are to be added.
    values : mapping
        The session file, as plain data; it may be unfinished.

    Returns
    -------
    bool
        False where a file states none, a pull of the session has none, a time would run backwards, or the first
        pull would not be on the day of the session.
    """
    times = [str(card.get("time") or "") for card in cards]
    before = _times(values)
    session: Any = values.get("session")
    day = str(session.get("date") or "") if isinstance(session, dict) else ""
    run = [*before[-1:], *times]
    if not all(before) or not all(times) or run != sorted(run) or any(len(time) != len(run[0]) for time in run):
        return False
    return bool(before) or not day or times[:1] == [] or times[0].startswith(day)


def _rules(
    remembered: Mapping[str, Mapping[str, str]], chosen: Mapping[str, Mapping[str, str]]
) -> dict[str, dict[str, str]]:
    """Rules in the form of the session file; a column that was chosen for one channel is not kept for another."""
    taken = {rule["column"] for rule in chosen.values()}
    kept = {channel: rule for channel, rule in remembered.items() if rule["column"] not in taken}
    return {channel: {key: word for key, word in rule.items() if word} for channel, rule in {**kept, **chosen}.items()}
