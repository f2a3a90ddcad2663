"""Earlier sessions in the archive teach a comparison or a plan."""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from pullbook.app.user_folders import cache_folder
from pullbook.app.whole_file import write_whole
from pullbook.curves.archive_learning import FEWEST_SESSIONS, learn_prior
from pullbook.curves.archive_likelihood import unpacked
from pullbook.curves.archive_prior import ArchivePrior, LogBelief
from pullbook.errors import InputError
from pullbook.quantities.phrases import counted
from pullbook.records.codec_numbers import number
from pullbook.records.json_text import compact_json
from pullbook.records.taught import SOURCES, Taught

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.app.ports import Archive
    from pullbook.records.result import PullStatus
    from pullbook.records.session import Session

    Teacher: TypeAlias = Callable[[Session, Sequence[PullStatus]], Taught]

__all__ = ["beliefs_of", "from_archive", "prior_of"]

_METHOD: Final = "1"  # changes where the same sessions would teach something else


def prior_of(taught: Taught) -> ArchivePrior | None:
    """Prior of the comparison.

    Parameters
    ----------
    taught : Taught
        What was learnt.

    Returns
    -------
    ArchivePrior or None
        None where the sessions were too few.
    """
    if not taught.beliefs:
        return None
    believed = {name: LogBelief(location=one[0], scale=one[1]) for name, one in taught.beliefs.items()}
    return ArchivePrior(**believed, sessions=taught.sessions)


def from_archive(archive: Archive) -> Teacher:
    """Teacher that asks an archive.

    Sessions of the same bench count; where the session file names none, those of the same kind of dynamometer that name
    none either. The session itself, known by its files of pulls, never does.

    Parameters
    ----------
    archive : Archive
        Where earlier sessions are.
    """

    def teach(session: Session, pulls: Sequence[PullStatus]) -> Taught:
        files = sorted({status.pull.source.sha256 for status in pulls})
        kept = archive.scatter(str(session.dyno), session.bench, files)
        count = len(kept)
        earlier = counted(count, "earlier session")
        if count < FEWEST_SESSIONS:
            note = (
                f"The archive has {earlier} of {_bench(session)} that {'tells' if count == 1 else 'tell'} of scatter; "
                f"below {FEWEST_SESSIONS} nothing is learnt, and this session stands by itself."
            )
            return Taught(sessions=count, beliefs={}, says=(note,))
        note = (
            f"The {earlier} of {_bench(session)} in the archive teach the scatter."
            if session.bench
            else f"Nothing in session.toml names the bench: the {earlier} of {_bench(session)} in the archive that "
            "name none either are taken as of the same one."
        )
        return Taught(sessions=count, beliefs=_learnt([one.packed for one in kept]), says=(note,))

    return teach


def _bench(session: Session) -> str:
    kind = f"{'an' if session.dyno == 'engine' else 'a'} {session.dyno} dynamometer"
    return f"the bench '{session.bench}' ({kind})" if session.bench else kind


def _learnt(packed: list[bytes]) -> dict[str, tuple[float, float]]:
    """Beliefs, from the cache where the same sessions have taught before."""
    hashes = sorted(hashlib.sha256(one).digest() for one in packed)
    name = hashlib.sha256(_METHOD.encode() + b"".join(hashes)).hexdigest()
    path = cache_folder() / "history" / f"{name}.json"
    with suppress(OSError, ValueError, InputError):  # what the cache has lost is learnt again
        return beliefs_of(json.loads(path.read_bytes()), "")
    # In the order of their hashes, so that the sums are the same on every archive.
    prior = learn_prior([unpacked(one) for one in sorted(packed, key=lambda one: hashlib.sha256(one).digest())])
    if prior is None:  # pragma: no cover - the caller counted
        return {}
    found = {source: _rounded(getattr(prior, source)) for source in SOURCES}
    told = {source: {"location": one[0], "scale": one[1]} for source, one in found.items()}
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, compact_json(told))
    return found


def _rounded(belief: LogBelief) -> tuple[float, float]:
    """To the digits that are written, so that a comparison can be repeated from the file to the last of its own."""
    return number(belief.location) or 0.0, number(belief.scale) or 0.0


def beliefs_of(told: Any, name: str) -> dict[str, tuple[float, float]]:  # noqa: ANN401 - whatever JSON holds
    """Beliefs as a file tells them.

    Parameters
    ----------
    told : object
        Location and scale of the logarithm of each source of scatter, by its name. [1]
    name : str
        The file, for what is told of a mistake.

    Returns
    -------
    dict of str to (float, float)
        Location and scale by source, as `pullbook.records.taught.Taught` has them. [1]

    Raises
    ------
    InputError
        If one of them cannot be.
    KeyError, TypeError, ValueError
        If it is not of that form.
    """
    found: dict[str, tuple[float, float]] = {}
    for source in SOURCES:
        location, scale = (float(told[source][what]) for what in ("location", "scale"))
        if not (-50.0 < location < 50.0 and 0.0 < scale < 50.0):
            raise InputError("a belief cannot be", where=name, value=source,
                             remedy="take the file as the comparison wrote it")  # fmt: skip
        found[source] = (location, scale)
    return found
