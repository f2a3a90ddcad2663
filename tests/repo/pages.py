"""Pages of the documentation that are run: their commands, the files that they write, and what they say is printed."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["SKIP", "Step", "change_lines", "missing_lines", "printed_by", "steps_of", "take"]

_BLOCK: Final = re.compile(
    r"^```(?:console\n(?P<console>.*?)"
    r"|toml\n# file: (?P<name>\S+)\n(?P<content>.*?)"
    r"|toml\n# copy (?P<source>\S+) to (?P<copy>\S+) and change\n(?P<lines>.*?)"
    r"|python\n(?P<python>.*?))^```",
    flags=re.MULTILINE | re.DOTALL,
)
_NUMBER: Final = re.compile(r"\d+(?:,\d{3})*(?:\.\d+)?")
SKIP: Final = "..."


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What a page does next.

    Attributes
    ----------
    written : str
        The line of the page with the command.
    command : tuple of str
        A command, or Python to run.
    status : int
        What it ends with.
    shown : tuple of str
        Lines that it is said to print.
    file, source, content : str
        A file to write, or to write as a copy of another one, with this content or these lines changed.
    """

    written: str = ""
    command: tuple[str, ...] = ()
    status: int = 0
    shown: tuple[str, ...] = ()
    file: str = ""
    source: str = ""
    content: str = ""


def steps_of(text: str) -> list[Step]:
    """Files and commands of a page in order; ``...`` stands for lines that are not shown."""
    steps = []
    for block in _BLOCK.finditer(text):
        if block["name"]:
            steps.append(Step(file=block["name"], content=block["content"]))
        elif block["copy"]:
            steps.append(Step(file=block["copy"], source=block["source"], content=block["lines"]))
        elif block["python"]:
            steps.append(Step(command=("python", "-c", block["python"])))
        else:
            steps += [_command(part) for part in re.split(r"^\$ ", block["console"], flags=re.MULTILINE)[1:]]
    return steps


def _command(part: str) -> Step:
    command, _, output = part.partition("\n")
    words, _, status = command.partition("# status ")
    lines = [line for line in output.splitlines() if line.strip() and line.strip() != SKIP]
    return Step(written=f"$ {command}\n", command=tuple(_words(words)), status=int(status or 0), shown=tuple(lines))


def change_lines(text: str, changes: str) -> str:
    """TOML with some lines changed: each key has to stand once, on one line, in the table that the changes name.

    Examples
    --------
    >>> change_lines('[a]\\nx = 1\\n[b]\\nx = 1  # as built\\n', '[b]\\nx = 2\\n')
    '[a]\\nx = 1\\n[b]\\nx = 2\\n'
    """
    lines, table = text.splitlines(), ""
    for change in changes.splitlines():
        if change.startswith("["):
            table = change.partition("#")[0].strip()
        elif change.strip():
            key = change.partition("=")[0].strip()
            places = [number for number in _lines_of(lines, table) if lines[number].partition("=")[0].strip() == key]
            assert len(places) == 1, f"'{key}' stands {len(places)} times in {table or 'the file'}"
            lines[places[0]] = change
    return "\n".join(lines) + "\n"


def _lines_of(lines: list[str], table: str) -> range:
    """Numbers of the lines of a table; of several with one name, the first."""
    heads = [number for number, line in enumerate(lines) if line.startswith("[")]
    start = next(number for number in heads if lines[number].partition("#")[0].strip() == table)
    return range(start + 1, next((number for number in heads if number > start), len(lines)))


def _words(command: str) -> list[str]:
    return [quoted or plain for quoted, plain in re.findall(r"'([^']*)'|(\S+)", command)]


def missing_lines(shown: tuple[str, ...], printed: str) -> list[str]:
    """Lines of the page that were not printed in that order.

    Where lines break does not matter, nor does the last digit of a drawn number and one step of the rpm grid.
    """
    rest = " ".join(printed.split())
    missing = []
    for line in shown:
        wanted = " ".join(line.split())
        pattern = "".join("(" + _NUMBER.pattern + ")" if _NUMBER.fullmatch(part) else re.escape(part)
                          for part in re.split(f"({_NUMBER.pattern})", wanted) if part)  # fmt: skip
        found = next((one for one in re.finditer(pattern, rest) if _is_near(wanted, one.group())), None)
        if found:
            rest = rest[found.end() :]
        else:
            missing.append(line)
    return missing


def _is_near(wanted: str, found: str) -> bool:
    pairs = zip(_NUMBER.finditer(wanted), _NUMBER.findall(found), strict=True)
    return all(
        abs(_value(one.group()) - _value(other)) <= _tolerance(one.group(), wanted[: one.start()])
        for one, other in pairs
    )


def _tolerance(text: str, before: str) -> float:
    """How far a number may be off: counts, names and sizes of parts are exact; what comes from draws is not."""
    decimals = len(text.partition(".")[2])
    if before.endswith("± "):
        return max(1.01 * 10.0**-decimals, 0.15 * _value(text))
    if _value(text) >= 1000.0:
        return 50.0
    return 1.01 * 10.0**-decimals if decimals else 0.0


def _value(text: str) -> float:
    return float(text.replace(",", ""))


def take(step: Step, folder: Path) -> None:
    """Do one step in a folder, and hold it to what the page says."""
    if step.file:
        whole = change_lines((folder / step.source).read_text(encoding="utf-8"), step.content) if step.source else ""
        (folder / step.file).parent.mkdir(parents=True, exist_ok=True)
        (folder / step.file).write_text(whole or step.content, encoding="utf-8")
        return
    if step.command[:2] == ("cp", "-r"):
        shutil.copytree(folder / step.command[2], folder / step.command[3])
        return
    printed = printed_by(step, folder)
    assert missing_lines(step.shown, printed) == [], f"{' '.join(step.command)}\n{printed}"


def printed_by(step: Step, folder: Path) -> str:
    """What a command prints; it has to end with the status that the page says."""
    assert step.command[0] in {"pullbook", "python"}
    words = step.command[1:] if step.command[0] == "python" else ("-m", *step.command)
    done = subprocess.run(
        [sys.executable, *words],
        cwd=folder,
        env={**os.environ, "COLUMNS": "110", "NO_COLOR": "1", "PULLBOOK_UNITS": "metric"},
        capture_output=True,
        check=False,
        encoding="utf-8",
    )
    assert done.returncode == step.status, f"{' '.join(step.command)}\n{done.stderr}"
    return done.stdout + done.stderr
