"""``pullbook simulate``: the virtual engine."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads the annotations
from typing import Annotated, Final

import typer

from pullbook.cli.options import Json, Units  # noqa: TC001 - typer reads the annotations
from pullbook.errors import InputError, SimulationError
from pullbook.quantities.showing import UnitSystem

__all__ = ["simulate"]

_METRIC: Final = UnitSystem.METRIC


def _refuse(engines: int, at: float | None, *, waves: bool, reflections: bool, difference: bool) -> None:
    """Refuse what does not go together."""
    if difference and engines != 2:
        raise InputError("a difference needs two engines", where="--difference", remedy="name two engine files")
    if waves and (at is None or engines != 1):
        raise InputError("waves are those of one engine at one speed", where="--waves", remedy="add --at 2500")
    if reflections and at is None:
        raise InputError("reflections are those at one speed", where="--reflections", remedy="add --at 2500")


def simulate(
    engines: Annotated[list[Path], typer.Argument(metavar="ENGINE...", help="Engine files, as engine.toml.")],
    rpm: Annotated[
        str, typer.Option("--rpm", metavar="FROM:TO:STEP", help="Engine speeds, as 2000:6500:250 or 2000,3500.")
    ] = "2000:6500:250",
    at: Annotated[float | None, typer.Option("--at", metavar="RPM", help="One speed.")] = None,
    waves: Annotated[
        Path | None,
        typer.Option(
            "--waves",
            metavar="FILE",
            help="Write the waves in the pipes at one speed: .npz, or a picture .png .svg .pdf.",
        ),
    ] = None,
    reflections: Annotated[
        bool,
        typer.Option("--reflections", help="Show when waves come back to each port at one speed, and from where."),
    ] = False,
    difference: Annotated[bool, typer.Option("--difference", help="Show the second engine less the first.")] = False,
    fine: Annotated[bool, typer.Option("--fine", help="Cells of 10 mm instead of 20 mm.")] = False,
    grid_error: Annotated[
        bool, typer.Option("--grid-error/--no-grid-error", help="Estimate the error from the size of the cells.")
    ] = True,
    threads: Annotated[int, typer.Option("--threads", min=0, help="Speeds at a time; 0 for all processors.")] = 0,
    units: Units = _METRIC,
    json_to: Json = None,
) -> None:
    """Run the virtual engine: torque, power and what explains them.

    Ctrl-C keeps the points that are done.
    """
    from pullbook.app.engine_speeds import possible_speed, speeds_of
    from pullbook.app.simulate_engine import SimulateQuestion, first_words, simulate_engines, write_waves
    from pullbook.cli.show_reflections import print_reflections
    from pullbook.cli.show_simulated import print_curves, print_difference
    from pullbook.cli.watch import Bar

    wanted = (possible_speed(at, "--at"),) if at is not None else speeds_of(rpm, "--rpm")
    question = SimulateQuestion(
        speeds_rpm=wanted, fine=fine, grid_error=grid_error, threads=threads, reflections=reflections
    )
    _refuse(len(engines), at, waves=waves is not None, reflections=reflections, difference=difference)
    if waves is not None:
        with Bar() as bar:
            bar.step(first_words(engines[0]), 0, 1)
            write_waves(engines[0], question, waves)
        print(f"Waves: {waves}")
        if not reflections:
            return
    with Bar() as bar:
        curves = simulate_engines(engines, question, bar)
    if json_to is not None:
        from pullbook.cli.json_output import write_json
        from pullbook.records.codec_simulation import simulation_to_json

        write_json(simulation_to_json(curves), json_to)
    else:
        if difference and len(curves) == len(engines):
            print_difference(curves[0], curves[1], units)
        else:
            print_curves(curves, units)
        print_reflections(curves, units)
    if any(curve.failures for curve in curves):
        raise typer.Exit(SimulationError.exit_status)
