"""A session as open data: what stands beside its own files in a folder that anyone can check.

The descriptor is a Data Package of the Frictionless standard, version 2 (https://datapackage.org), its fields from
memory: ``name``, ``title``, ``created``, ``licenses``, ``contributors``, and ``resources`` with ``path``, ``bytes`` and
``hash``. All of it follows from the session, so that exporting twice gives the same bytes.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.app.checksums import DESCRIPTOR, SUMS, sums_text
from pullbook.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pullbook.records.kept_session import KeptSession

__all__ = ["Rights", "exported_files", "rights_of", "slug"]

_PROFILE: Final = "https://datapackage.org/profiles/2.0/datapackage.json"
_FINDINGS: Final = "findings.json"
_README: Final = "README.md"
_LICENCE: Final = "LICENCE.txt"
_OURS: Final = frozenset({_FINDINGS, _README, _LICENCE, DESCRIPTOR, SUMS})
_MEDIA: Final = {
    "csv": "text/csv", "tsv": "text/tab-separated-values", "txt": "text/plain", "json": "application/json",
    "toml": "application/toml", "xls": "application/vnd.ms-excel",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "ods": "application/vnd.oasis.opendocument.spreadsheet",
}  # fmt: skip
_BINARY: Final = frozenset({"xls", "xlsx", "ods", "mf4", "dat"})
_LICENCES: Final = {
    "CC0-1.0": "https://creativecommons.org/publicdomain/zero/1.0/",
    "CC-BY-4.0": "https://creativecommons.org/licenses/by/4.0/",
    "CC-BY-SA-4.0": "https://creativecommons.org/licenses/by-sa/4.0/",
    "ODC-BY-1.0": "https://opendatacommons.org/licenses/by/1-0/",
    "ODbL-1.0": "https://opendatacommons.org/licenses/odbl/1-0/",
    "PDDL-1.0": "https://opendatacommons.org/licenses/pddl/1-0/",
}
"""Licences for data by their short names, and where their texts stand (from memory)."""
_FOLLOWS: Final = "The findings follow from these files alone"
_NO_FINDINGS: Final = "Why there are no findings is told from these files alone"
_NONE: Final = "No licence was given: whoever wants to use these data has to ask whoever measured them."


@dataclass(frozen=True, slots=True, kw_only=True)
class Rights:
    """Who measured, under which licence, and how it is cited.

    Attributes
    ----------
    authors : tuple of str
        As declared.
    licence : str
        As declared; empty where none was.
    cite : str
        As declared, or made of authors, day and title.
    """

    authors: tuple[str, ...]
    licence: str
    cite: str


def slug(text: str) -> str:
    """Name for files and descriptors: small letters, digits and dashes.

    Parameters
    ----------
    text : str
        Words.

    Examples
    --------
    >>> slug("Déjà vu: 2.2 L, two headers")
    'deja-vu-2-2-l-two-headers'
    """
    plain = unicodedata.normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode()
    return "-".join(re.findall(r"[a-z0-9]+", plain))


def rights_of(kept: KeptSession) -> Rights:
    """Authors, licence and citation of a session, from its session file.

    Parameters
    ----------
    kept : KeptSession
        The session.
    """
    told = tomllib.loads(kept.files["session.toml"].decode("utf-8-sig")).get("session", {})
    authors = tuple(str(one) for one in told.get("authors", ()))
    title = kept.corrections.get("title", kept.content["title"])
    day = kept.corrections.get("date", kept.content["date"] or "")
    own = ". ".join([*([", ".join(authors)] if authors else []), title, *([day] if day else [])])
    own += f". Data of a dyno session, {hashlib.sha256(kept.files['session.toml']).hexdigest()[:12]}."
    return Rights(authors=authors, licence=str(told.get("licence", "")), cite=str(told.get("cite", "")) or own)


def exported_files(kept: KeptSession) -> dict[str, bytes]:
    """Every file of the folder by its name: those of the session as they were, and what describes and checks them.

    Parameters
    ----------
    kept : KeptSession
        The session.

    Raises
    ------
    InputError
        If a file of the session has a name that is needed, or one that leads out of the folder.
    """
    for name in kept.files:
        _demand_free(name)
    rights = rights_of(kept)
    data = {**kept.files, **({_FINDINGS: kept.findings} if kept.findings else {})}
    files = {
        _README: _readme(kept, rights).encode(),
        _LICENCE: _licence_text(rights).encode(),
        DESCRIPTOR: (json.dumps(_descriptor(kept, rights, data), indent=2, ensure_ascii=False) + "\n").encode(),
        **data,
    }
    return {**files, SUMS: sums_text(files)}


def _demand_free(name: str) -> None:
    if name in _OURS:
        raise InputError("a file of the session has a name that the export needs", where=name,
                         remedy="give it another name, in session.toml too, and remember it again")  # fmt: skip
    parts = re.split(r"[/\\]", name)
    if not parts[0] or ".." in parts or ":" in parts[0]:
        raise InputError("the name of a file leads out of the folder", where=name,
                         remedy="put the file into the session folder, and remember it again")  # fmt: skip


def _descriptor(kept: KeptSession, rights: Rights, data: Mapping[str, bytes]) -> dict[str, Any]:
    content = kept.content
    title = kept.corrections.get("title", content["title"])
    licence: list[dict[str, str]] = []
    if rights.licence in _LICENCES:
        licence = [{"name": rights.licence, "path": _LICENCES[rights.licence]}]
    elif rights.licence:
        licence = [{"path": _LICENCE, "title": rights.licence}]
    return {
        "$schema": _PROFILE,
        "name": f"{slug(title)[:60].strip('-') or 'session'}-{kept.session}",
        "title": title,
        "description": content["headline"],
        "version": str(kept.revision),
        "created": kept.at,
        **({"licenses": licence} if licence else {}),
        **({"contributors": [{"title": one, "roles": ["author"]} for one in rights.authors]} if rights.authors else {}),
        "resources": list(_resources(kept, data)),
    }


def _resources(kept: KeptSession, data: Mapping[str, bytes]) -> Iterator[dict[str, Any]]:
    told = {"session.toml": "What was declared", _FINDINGS: "What the session showed"}
    told |= dict.fromkeys(_engines(kept), "An engine, for its simulation")
    taken: set[str] = set()
    for name, content in data.items():
        plain = slug(name) or "file"
        unique = next(one for one in [plain, *(f"{plain}-{n}" for n in range(2, len(data) + 2))] if one not in taken)
        taken.add(unique)
        end = name.rpartition(".")[2].lower()
        builds = sorted({pull["build"] for pull in kept.content["pulls"] if pull["file"] == name})
        title = told.get(name) or (f"Pulls of build {', '.join(builds)}" if builds else "")
        yield {
            "name": unique,
            "path": name,
            **({"title": title} if title else {}),
            **({"format": end, "mediatype": _MEDIA[end]} if end in _MEDIA else {}),
            **({} if end in _BINARY else {"encoding": _encoding(content)}),
            "bytes": len(content),
            "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
        }


def _engines(kept: KeptSession) -> set[str]:
    """Files that are neither the session file nor one of pulls."""
    return set(kept.files) - {"session.toml", *(pull["file"] for pull in kept.content["pulls"])}


def _encoding(content: bytes) -> str:
    """Encoding of a text by its name in the register of IANA."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        content.decode()
    except UnicodeDecodeError:
        return "windows-1252"
    return "utf-8"


def _licence_text(rights: Rights) -> str:
    if not rights.licence:
        return f"{_NONE}\n"
    where = _LICENCES.get(rights.licence)
    return f"{rights.licence}\n" + (f"The text of the licence: {where}\n" if where else "")


def _readme(kept: KeptSession, rights: Rights) -> str:
    """What is in the folder, and how it is checked."""
    content = kept.content
    lines = [f"# {kept.corrections.get('title', content['title'])}", "", content["headline"] or "No findings.", ""]
    lines += [
        f"{what[0].upper()}{what[1:]}, as corrected after the test: {to}" for what, to in kept.corrections.items()
    ]
    lines += [f"Excluded by whoever keeps the archive: {kept.excluded}"] if kept.excluded else []
    lines += [
        "", "## What is here", "",
        "- `session.toml`: what was declared of the test; it names every other file that belongs to it.",
        "- The files of the pulls, byte for byte as the bench wrote them.",
        *(["- Engine files, for the simulation of the engine."] if _engines(kept) else []),
        *([f"- `{_FINDINGS}`: what pullbook {content['program']} made of them; its curves are rounded to five digits."]
          if kept.findings else []),
        f"- `{DESCRIPTOR}`: a description of all of this that programs read (Data Package, https://datapackage.org).",
        f"- `{SUMS}`: a checksum of every file.",
        "", "## How to check it", "",
        f"Nothing was changed since: `sha256sum -c {SUMS}` (on macOS `shasum -a 256 -c {SUMS}`).", "",
        f"{_FOLLOWS if kept.findings else _NO_FINDINGS}, with `pip install pullbook=={content['program']}`:", "",
        "    pullbook compare .", "",
        "Into an archive of your own: `pullbook remember .`; the checksums are held against the files before.",
        "", "## Licence", "", _licence_text(rights).rstrip(),
        "", "## How to cite it", "", rights.cite, "",
    ]  # fmt: skip
    return "\n".join(lines)
