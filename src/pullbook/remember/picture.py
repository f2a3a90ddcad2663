"""From how a session stands to the rows by which it is found and pooled.

What is worked out here is the same for the same events, so that a check can tell a damaged row from a sound one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from pullbook.remember.words import stems

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.records.archived import ArchivedBuild, ArchivedDimension, ArchivedSession
    from pullbook.remember.standing import Standing

__all__ = ["Picture", "Row", "bench_key", "picture_of", "source_start"]

_START: Final = 16

Row: TypeAlias = "dict[str, Any]"


@dataclass(slots=True)
class Picture:
    """Rows of one session, without the numbers that tables give them.

    Attributes
    ----------
    session : dict
        Its row; ``engine`` is the name of the engine.
    rows : dict of str to list of dict
        Rows by table; those of ``fitted`` have the name of the part.
    """

    session: Row
    rows: dict[str, list[Row]] = field(default_factory=dict[str, "list[Row]"])


def picture_of(standing: Standing) -> Picture | None:
    """Rows of a session as it stands; None where all of its revisions were undone.

    Parameters
    ----------
    standing : Standing
        How it stands.
    """
    if not standing.revisions:
        return None
    latest = standing.revisions[-1]
    content = latest.content
    changed = list(_changed(content))
    row: Row = {
        "uid": standing.uid, "event_id": latest.event, "revision": latest.number, "title": standing.told("title"),
        "day": standing.told("date"), "engine": standing.told("engine"),
        "displacement": content["engine"]["displacement"], "dyno": content["dyno"],
        "bench": bench_key(content.get("bench", "")), "standard": content["standard"],
        "changed": "\n".join(changed), "headline": content["headline"], "folder": content["folder"],
        "pulls": len(content["pulls"]), "excluded": standing.excluded,
    }  # fmt: skip
    dimensions = [{**one, "label": _label(one)} for one in content["dimensions"]]
    return Picture(
        session=row,
        rows={
            "revision": [{"number": one.number, "event_id": one.event, "key": one.key} for one in standing.revisions],
            "source": [{"start": start} for start in sorted(_sources(standing))],
            "fitted": [dict(part) for part in content["parts"]],
            "dimension": dimensions,
            "step": list(_steps(content)),
            "gain": [_gain(dict(gain)) for gain in content["gains"]],
            "verdict": [_verdict(dict(claim)) for claim in content["claims"]],
            "word": [{"word": word} for word in sorted(_words(standing, changed))],
        },
    )


def bench_key(name: str) -> str:
    """Name of a bench as benches are told apart: neither capitals nor spaces make another one of it.

    Parameters
    ----------
    name : str
        As somebody wrote it.

    Examples
    --------
    >>> bench_key(" Cell  2 ")
    'cell 2'
    """
    return " ".join(name.casefold().split())


def source_start(sha256: str) -> str:
    """First digits of a hash, by which a file of pulls is known again.

    Parameters
    ----------
    sha256 : str
        The hash, hexadecimal.
    """
    return sha256[:_START]


def _sources(standing: Standing) -> set[str]:
    """Hashes of the files of pulls of all revisions."""
    found: set[str] = set()
    for revision in standing.revisions:
        pulls = {pull["file"] for pull in revision.content["pulls"]}
        found.update(source_start(one["sha256"]) for one in revision.content["files"] if one["name"] in pulls)
    return found


def _changed(content: ArchivedSession) -> Iterator[str]:
    """Each factor with the levels that were run; the builds where there is no factor."""
    for factor in content["factors"]:
        name = factor["name"]
        run = {build["levels"].get(name) for build in content["builds"]}
        levels = [level for level in factor["levels"] if level in run]
        if len(levels) > 1:
            yield f"{name}: {', '.join(levels)}"
    if not content["factors"]:
        yield ", ".join(build["label"] or build["name"] for build in content["builds"])


def _label(dimension: ArchivedDimension) -> str:
    """Words of a dimension with a blank before each, so that a beginning can be looked for."""
    words = stems([dimension["name"].replace("_", " "), dimension["factor"], dimension["part"]])
    return "".join(f" {word}" for word in sorted(words))


def _steps(content: ArchivedSession) -> Iterator[Row]:
    """Differences of dimensions between any two builds, the larger one first."""
    for first, second in combinations(content["builds"], 2):
        names = [factor["name"] for factor in content["factors"]]
        different = [name for name in names if first["levels"].get(name) != second["levels"].get(name)]
        for factor in different:
            for one in _at(content, factor, first):
                for other in _at(content, factor, second):
                    same = one["name"] == other["name"] and one["kind"] == other["kind"]
                    if same and one["value"] != other["value"]:
                        yield _step((first, one), (second, other), alone=len(different) == 1)


def _at(content: ArchivedSession, factor: str, build: ArchivedBuild) -> list[ArchivedDimension]:
    level = build["levels"].get(factor)
    return [one for one in content["dimensions"] if one["factor"] == factor and one["level"] == level]


def _step(
    one: tuple[ArchivedBuild, ArchivedDimension], other: tuple[ArchivedBuild, ArchivedDimension], *, alone: bool
) -> Row:
    (of_build, of), (from_build, from_) = sorted((one, other), key=lambda pair: -pair[1]["value"])
    return {
        "of_build": of_build["name"], "from_build": from_build["name"], "factor": of["factor"], "name": of["name"],
        "kind": of["kind"], "of_value": of["value"], "from_value": from_["value"],
        "difference": of["value"] - from_["value"], "alone": alone,
        "label": "".join(f" {word}" for word in sorted({*_label(of).split(), *_label(from_).split()})),
    }  # fmt: skip


def _gain(gain: Row) -> Row:
    row: Row = {"of_build": gain["of"], "from_build": gain["from"], "from_rpm": gain["from_rpm"],
                "to_rpm": gain["to_rpm"]}  # fmt: skip
    for quantity in ("torque", "power", "percent"):
        values = gain[quantity] or (None, None, None)
        row |= dict(zip((quantity, f"{quantity}_low", f"{quantity}_high"), values, strict=True))
    return row


def _verdict(claim: Row) -> Row:
    claim["claim"] = claim.pop("id")
    return claim


def _words(standing: Standing, changed: list[str]) -> set[str]:
    """All words by which the session is found."""
    content = standing.revisions[-1].content
    texts = [standing.told(what) for what in ("title", "question", "notes", "engine")]
    texts += changed
    texts += [level for factor in content["factors"] for level in factor["levels"]]
    texts += [build["label"] for build in content["builds"]]
    texts += [part["name"] for part in content["parts"]]
    texts += [one["name"].replace("_", " ") for one in content["dimensions"]]
    texts += [claim["says"] for claim in content["claims"]]
    texts += [content["dyno"], content.get("bench", ""), content["standard"], content["engine"]["induction"]]
    return stems(texts)
