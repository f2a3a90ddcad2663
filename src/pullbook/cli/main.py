"""The commands of pullbook.

Each command imports what it needs when it runs, because ``pullbook --help`` has to answer at once. Exit status: 0
when the job is done, 2 when the input is wrong or the data cannot answer, 1 when the machine or pullbook failed.
"""

from __future__ import annotations

import io
import os
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from pullbook.cli.engine import engine
from pullbook.cli.findings import compare, publish
from pullbook.cli.json_output import write_json
from pullbook.cli.options import Columns, Json, Units, WithArchive, column_rules
from pullbook.cli.plan import plan
from pullbook.cli.remedies import sentence_of
from pullbook.cli.remember import remember
from pullbook.cli.serve import serve
from pullbook.cli.simulate import simulate
from pullbook.errors import InputError, PullbookError
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from pullbook.app.read_pulls import CapturedFile

__all__ = ["app", "run"]

_CANCELLED: Final = 130
_METRIC: Final = UnitSystem.METRIC

app = typer.Typer(
    name="pullbook",
    help="From a folder of dynamometer pulls to a comparison that can be defended.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(value: bool) -> None:  # noqa: FBT001 - the signature of an option's callback
    if value:
        from pullbook import __version__

        print(f"pullbook {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """From a folder of dynamometer pulls to a comparison that can be defended."""


@app.command()
def demo(
    to: Annotated[Path, typer.Option("--to", metavar="FOLDER", help="Where the demo goes.")] = Path("pullbook-demo"),
    units: Units = _METRIC,
    open_page: Annotated[
        bool | None,
        typer.Option("--open/--no-open", help="Open the report in the browser; default: where there is a screen."),
    ] = None,
) -> None:
    """Write an invented session, compare it and publish its report."""
    from pullbook.app.question import Question
    from pullbook.app.write_demo import run_demo
    from pullbook.cli.screen import has_screen, open_in_browser
    from pullbook.cli.show import print_findings
    from pullbook.cli.watch import Bar
    from pullbook.wiring import demo_bench

    with Bar() as bar:
        result, page = run_demo(to, demo_bench(), Question(system=units), bar)
    print_findings(result, units)
    print(f"\nSession: {to}\nReport:  {page}")
    if open_page or (open_page is None and has_screen()):
        open_in_browser(page)


@app.command()
def capture(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Files that the bench wrote.")],
    columns: Columns = None,
    inertia: Annotated[
        bool,
        typer.Option("--inertia", help="Estimate the rotating inertia from pulls of one build at two sweep rates."),
    ] = False,
    units: Units = _METRIC,
    json_to: Json = None,
) -> None:
    """Show what is understood of each file; nothing is stored."""
    from pullbook.app.captured_json import captured_as_json
    from pullbook.app.find_inertia import inertia_of
    from pullbook.app.read_pulls import capture_file, each_with_errors
    from pullbook.cli.show_capture import print_captured
    from pullbook.cli.watch import Bar

    rules = column_rules(columns)
    with Bar() as bar:
        names = [str(path) for path in files]

        def read(name: str) -> CapturedFile:
            bar.step(f"reading {name}", names.index(name), len(names))
            return capture_file(Path(name), name, rules)

        results = each_with_errors(names, read)
    estimate = inertia_of(results) if inertia else None
    if json_to is None:
        print_captured(results, units)
        if estimate is not None:
            print(f"\n{estimate.says}")
    else:
        found: list[object] = [*captured_as_json(results), *([asdict(estimate)] if estimate else [])]
        write_json(found, json_to)
    if any(isinstance(result, PullbookError) or result.refused for _, result in results):
        raise typer.Exit(InputError.exit_status)


@app.command()
def correct(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File that the bench wrote.")],
    standard: Annotated[str, typer.Option("--standard", metavar="NAME", help="Correction standard, as 'SAE J1349'.")],
    temperature: Annotated[str, typer.Option(metavar="VALUE", help="Air at the inlet, as '24.1 degC'.")] = "",
    pressure: Annotated[str, typer.Option(metavar="VALUE", help="Absolute pressure at the inlet, as '99.2 kPa'.")] = "",
    humidity: Annotated[str, typer.Option(metavar="VALUE", help="Relative humidity, as '46 %'.")] = "",
    received: Annotated[
        str, typer.Option(metavar="NAME", help="Standard that the file was already corrected to, or observed.")
    ] = "observed",
    inertia: Annotated[str, typer.Option(metavar="VALUE", help="Inertia in a sweep, as '0.21 kg m^2'.")] = "",
    induction: Annotated[
        str, typer.Option(metavar="NAME", help="natural, supercharged, turbocharged, ...")
    ] = "natural",
    ignition: Annotated[str, typer.Option(metavar="NAME", help="spark or compression.")] = "spark",
    displacement: Annotated[str, typer.Option(metavar="VALUE", help="Swept volume, as '2.2 L'.")] = "",
    which: Annotated[int, typer.Option(metavar="N", min=0, help="Which pull of the file, from 1.")] = 0,
    columns: Columns = None,
    units: Units = _METRIC,
    json_to: Json = None,
) -> None:
    """Correct one file to reference conditions.

    Every value met on the way is shown.
    """
    from pullbook.app.correct_file import Conditions, correct_file
    from pullbook.app.question import standard_named
    from pullbook.cli.conditions import stated_air, stated_engine, stated_inertia
    from pullbook.cli.show_corrected import corrected_as_json, print_corrected

    conditions = Conditions(
        air=stated_air(temperature, pressure, humidity),
        engine=stated_engine(induction, ignition, displacement),
        received=standard_named(received, "--received"),
        inertia=stated_inertia(inertia),
        which=which,
        columns=column_rules(columns),
    )
    corrected = correct_file(file, standard_named(standard, "--standard"), conditions)
    if json_to is None:
        print_corrected(corrected, units)
    else:
        write_json(corrected_as_json(corrected), json_to)


app.command(cls=WithArchive)(plan)
app.command(cls=WithArchive)(compare)
app.command(cls=WithArchive)(publish)
app.command()(remember)
app.command()(simulate)
app.command()(serve)
app.add_typer(engine, name="engine")


def run() -> None:
    """Run the command line and end the process with its status."""
    sys.exit(_status(sys.argv[1:]))


def _status(arguments: list[str]) -> int:
    """Status of one run; everything that can go wrong ends here as one sentence."""
    # Windows consoles and pipes may not be able to write every character of a report.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        status = _run_app(arguments)
    except PullbookError as error:
        print(f"pullbook: {sentence_of(error)}", file=sys.stderr)
        return error.exit_status
    except (KeyboardInterrupt, typer.Abort):
        print("pullbook: cancelled; nothing was written.", file=sys.stderr)
        return _CANCELLED
    except Exception as error:  # noqa: BLE001 - the last place where a defect can become a sentence
        # Errors of usage are the only ones that know how to word themselves; their class has no public name.
        wording = getattr(error, "format_message", None)
        if wording is None:
            return _defect(error)
        print(f"pullbook: {str(wording()).rstrip('.')}; 'pullbook --help' shows the ways.", file=sys.stderr)
        return InputError.exit_status
    return int(status or 0)


def _run_app(arguments: list[str]) -> int | None:
    """Run the commands; a reader that has gone ("pullbook compare x | head") is no failure.

    The toolkit muffles the streams then, and leaves with the status of one.
    """
    stdout = sys.stdout
    try:
        status: int | None = app(args=arguments, standalone_mode=False)
    except SystemExit:
        if sys.stdout is stdout:
            raise
        return 0
    return status


def _defect(error: Exception) -> int:
    if os.environ.get("PULLBOOK_TRACEBACK"):
        raise error
    print(
        f"pullbook: this is a defect of pullbook ({type(error).__name__}: {error}); nothing of yours was changed. "
        "Run it again with PULLBOOK_TRACEBACK=1 and report what it prints.",
        file=sys.stderr,
    )
    return 1
