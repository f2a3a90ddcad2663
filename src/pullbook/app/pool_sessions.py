"""pool: a change in words -> what all sessions in the archive say of it together."""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, replace
from math import nan
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

import pullbook
from pullbook.app.folder import write_folder
from pullbook.app.pool_numbers import kept_effect, pooled_curves, pooled_lines, pooled_windows, usual_windows
from pullbook.app.pool_question import change_asked
from pullbook.app.question import Question
from pullbook.app.user_folders import cache_folder
from pullbook.app.whole_file import write_whole
from pullbook.errors import InputError, PullbookError
from pullbook.quantities.phrases import counted, listed
from pullbook.records.declaration import Standard
from pullbook.records.json_text import json_text
from pullbook.records.pool import Pool, PoolRow

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.app.pool_numbers import KeptEffect
    from pullbook.app.ports import Archive, Progress
    from pullbook.records.pooled import ChangeAsked, KeptEvidence

__all__ = ["PoolTerms", "pool_sessions", "write_pool"]

_NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
_NAMED: Final = 5  # sessions that a note names


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolTerms:
    """How sessions are pooled.

    Attributes
    ----------
    standard : Standard or None
        What all are corrected to; None for that of most of them.
    dyno : str
        Only sessions of this kind of dynamometer; empty for all, which must be of one kind then.
    windows : tuple of (float, float)
        Ranges of speed; none for the usual ones. [rpm]
    """

    standard: Standard | None = None
    dyno: str = ""
    windows: tuple[tuple[float, float], ...] = ()


def pool_sessions(archive: Archive, text: str, terms: PoolTerms, progress: Progress) -> Pool:
    """Pool the effect of a change over all sessions in which it was tested.

    Parameters
    ----------
    archive : Archive
        Where they are.
    text : str
        The change in words.
    terms : PoolTerms
        Standard, dynamometer and windows. [rpm]
    progress : Progress
        Is told how far the work is.

    Returns
    -------
    Pool
        What they say together. [%, N m]

    Raises
    ------
    InputError
        If the words name no change, no session tested it, crank and wheels are mixed, or a session cannot be
        corrected to the standard of the others.
    """
    asked = change_asked(text)
    kept = [one for one in archive.evidence(asked) if terms.dyno in {"", one.dyno}]
    without = [one for one in kept if not one.evidence.get("effects")]
    found = [one for one in kept if one.matches]
    notes = list(_notes(without, found))
    if not found:
        remedy = " ".join(notes).rstrip(".") or _looked_for(asked)
        raise InputError("no session in the archive tested this change", where="--pool", value=text, remedy=remedy)
    dyno = _one_dyno(found)
    standard = terms.standard or _usual_standard(found)
    chosen = [_chosen(archive, one, standard, progress) for one in found]
    rows = tuple(_row(one, way, old) for one, way, _, old in chosen)
    effects = [effect for _, _, effect, _ in chosen]
    windows = terms.windows or usual_windows(effects)
    told = pooled_windows(effects, windows, "%")
    if not told:
        raise InputError("no session was measured throughout such a window", where="--window",
                         remedy="name another range, or none")  # fmt: skip
    notes = [f"{note[0].upper()}{note[1:]}" for note in notes]
    notes += [f"Corrected anew to {_named(standard)}: {row.title} (session {row.session}, before "
              f"{_named(row.recomputed_from)})." for row in rows if row.recomputed_from]  # fmt: skip
    torque = any(effect.relative for effect in effects)
    if torque:
        notes.append("A session has a relative signal: effects are pooled in per cent alone.")
    return Pool(
        change=text, standard=str(standard), dyno=dyno, rows=rows,
        windows=(*told, *(() if torque else pooled_windows(effects, windows, "N m"))),
        curves=pooled_curves(effects), lines=pooled_lines(told[0], rows), notes=tuple(notes),
    )  # fmt: skip


def _named(standard: str) -> str:
    return "no standard (as observed)" if standard == Standard.NONE else str(standard)


def _looked_for(asked: ChangeAsked) -> str:
    """What to do where nothing was found."""
    find = "see what was tested with 'pullbook remember --find WORDS'"
    bare = [word for word in (*asked.to.words, *asked.from_.words) if _NUMBER.fullmatch(word)]
    return f"{find}; a dimension needs its unit, as in '{bare[0]} mm'" if bare else find


def _notes(without: Sequence[KeptEvidence], found: Sequence[KeptEvidence]) -> list[str]:
    said = []
    if without:
        names = listed([one.folder for one in without[:_NAMED]])
        more = f" and {len(without) - _NAMED} more" if len(without) > _NAMED else ""
        said.append(
            f"{counted(len(without), 'session')} may have tested it and kept no effect, with one pull of "
            f"each build or remembered by an earlier pullbook; pull again or remember again: {names}{more}."
        )
    several = [one for one in found if len(one.matches) > 1]
    said += [f"Session {one.session} tested it more than once; the effect with the least doubt counts."
             for one in several]  # fmt: skip
    return said


def _one_dyno(found: Sequence[KeptEvidence]) -> str:
    """Kind of dynamometer of all sessions, or refusal: losses of the drive are in the one and not in the other."""
    kinds = Counter(one.dyno for one in found)
    if len(kinds) > 1:
        said = listed([f"{counted(count, 'session')} of an {kind} dynamometer".replace("an chassis", "a chassis")
                       for kind, count in sorted(kinds.items())])  # fmt: skip
        raise InputError(f"crank and wheels cannot be pooled ({said})", where="--pool",
                         remedy="pool one kind with --dyno engine or --dyno chassis")  # fmt: skip
    return next(iter(kinds))


def _usual_standard(found: Sequence[KeptEvidence]) -> Standard:
    """Standard of most sessions; of those that as many have, that of the latest session."""
    counts = Counter(one.standard for one in found)
    most = max(counts.values())
    return Standard(next(one.standard for one in reversed(found) if counts[one.standard] == most))


def _chosen(
    archive: Archive, one: KeptEvidence, standard: Standard, progress: Progress
) -> tuple[KeptEvidence, tuple[int, int], KeptEffect, str]:
    """Session at the standard, which of its effects counts, and the standard that it had where that is another."""
    old = ""
    if one.standard != standard:
        old = one.standard
        one = replace(one, evidence=_recomputed(archive, one, standard, progress), standard=str(standard))
    effects = [(way, kept_effect(one.evidence, *way)) for way in one.matches]
    way, effect = min(effects, key=lambda pair: float(np.nanmean(pair[1].percent()[1])))
    return one, way, effect, old


def _recomputed(archive: Archive, one: KeptEvidence, standard: Standard, progress: Progress) -> dict[str, Any]:
    """Evidence of a session at another standard, by the real comparison of its own files."""
    from pullbook.app.compare_builds import compare_session
    from pullbook.app.session_evidence import session_evidence

    name = hashlib.sha256(f"{one.key} {standard} {pullbook.__version__}".encode()).hexdigest()
    path = cache_folder() / "evidence" / f"{name}.json"
    with suppress(OSError, ValueError):  # what the cache has lost is worked out again
        return dict(json.loads(path.read_bytes()))
    with tempfile.TemporaryDirectory(prefix="pullbook-") as scratch:
        folder = Path(scratch) / "session"
        for file, content in archive.take_out(one.session).files.items():
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            (folder / file).write_bytes(content)
        try:
            result = compare_session(folder, Question(standard=standard, without_bands=True), progress)
        except PullbookError as error:
            raise InputError(
                f"session {one.session} ({one.title}) cannot be corrected to {_named(standard)}: {error.what}",
                where="--pool",
                remedy="pool at another standard with --standard, or leave the session out with "
                       f"'pullbook remember --exclude {one.session} WHY'",
            ) from error  # fmt: skip
    _, evidence = session_evidence(result)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, evidence)
    return dict(json.loads(evidence))


def _row(one: KeptEvidence, way: tuple[int, int], old: str) -> PoolRow:
    effect: Mapping[str, Any] = one.evidence["effects"][way[0]]
    ends = ("from", "to") if way[1] > 0 else ("to", "from")
    from_, to = (str(effect[end]["level"]) for end in ends)
    displacement, power = one.evidence["displacement"], one.evidence["peak_power"]
    return PoolRow(
        session=one.session, revision=one.revision, day=one.day, title=one.title, engine=one.engine,
        folder=one.folder, from_=from_, to=to, builds=tuple(effect["builds"]),
        displacement=nan if displacement is None else float(displacement),
        peak_power=nan if power is None else float(power), recomputed_from=old,
    )  # fmt: skip


def write_pool(pool: Pool, told: Mapping[str, Any], goal: Path) -> list[Path]:
    """Write the evidence page and its numbers into a folder: both, or none.

    Parameters
    ----------
    pool : Pool
        What the sessions say together. [%, N m]
    told : mapping
        The same as plain data.
    goal : Path
        The folder.

    Raises
    ------
    PullbookError
        If it cannot be written to.
    """
    from pullbook.publish.pool_page import render_pool

    files = (("evidence.html", render_pool(pool).encode()), ("evidence.json", json_text(told).encode()))
    return write_folder(goal, files, replace=True)
