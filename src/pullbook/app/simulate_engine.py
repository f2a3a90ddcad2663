"""simulate: engine files -> curves of the virtual engine, or what happens in its pipes at one speed."""

from __future__ import annotations

import io
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from pullbook.app.folder import read_bytes, write_folder
from pullbook.errors import EngineFileError, InputError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from pullbook.app.ports import Progress
    from pullbook.engine.cycle import Settled
    from pullbook.engine.parts import EngineSpec
    from pullbook.records.simulation import RunPoint, SimulatedCurve

__all__ = ["SimulateQuestion", "first_words", "picture_waves", "read_engine", "simulate_engines", "write_waves"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulateQuestion:
    """What is asked of the virtual engine.

    Attributes
    ----------
    speeds_rpm : tuple of float
        Engine speeds. [rpm]
    fine : bool
        Cells of half the size.
    grid_error : bool
        Estimate the error from the size of the cells by a second run.
    threads : int
        Speeds computed at a time; 0 for all processors.
    reflections : bool
        Follow the fronts of all ports to where they are reflected and back.
    """

    speeds_rpm: tuple[float, ...]
    fine: bool = False
    grid_error: bool = True
    threads: int = 0
    reflections: bool = False


def read_engine(path: Path) -> EngineSpec:
    """Engine that a file declares.

    Parameters
    ----------
    path : Path
        An engine.toml.

    Raises
    ------
    FileRefusedError
        If it cannot be read.
    EngineFileError
        If it says something impossible.
    """
    from pullbook.engine.engine_file import parse_engine

    data = bytes(read_bytes(path, str(path)))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise EngineFileError(
            "the file is not text in UTF-8", where=str(path), remedy="save it as UTF-8, or name an engine.toml"
        ) from error
    return parse_engine(text, where=str(path))


def first_words(path: Path) -> str:
    """What a run begins with: after an installation the kernels are compiled, which takes as long as many curves.

    Parameters
    ----------
    path : Path
        The engine file.
    """
    from pullbook.gas.compiled import is_compiled
    from pullbook.gas.engine_cycle import run_cycle

    if is_compiled(run_cycle):
        return f"running {path.name}"
    return "compiling the kernels, once after an installation (half a minute)"


def simulate_engines(
    paths: Sequence[Path], question: SimulateQuestion, progress: Progress
) -> tuple[SimulatedCurve, ...]:
    """Curves of one or more engines.

    Parameters
    ----------
    paths : sequence of Path
        Engine files; all of them are read before the first is run.
    question : SimulateQuestion
        Speeds and fineness.
    progress : Progress
        Watches; what is done when it is interrupted is kept.

    Returns
    -------
    tuple of SimulatedCurve
        One for each file, in their order; those behind an interrupted one are missing.
    """
    from pullbook.engine.layouts import build_network
    from pullbook.engine.simulate import CELL_SIZE, FINE_CELL_SIZE, RunPlan, simulate_curve

    specs = [read_engine(path) for path in paths]
    for spec, path in zip(specs, paths, strict=True):
        build_network(spec, where=str(path))  # what cannot be is refused before anything is run
    plan = RunPlan(
        cell_size=FINE_CELL_SIZE if question.fine else CELL_SIZE,
        estimate_grid_error=question.grid_error,
        threads=question.threads or os.cpu_count() or 1,
        reflections=question.reflections,
    )
    total = len(specs) * len(question.speeds_rpm)
    curves: list[SimulatedCurve] = []
    for number, (spec, path) in enumerate(zip(specs, paths, strict=True)):
        before = number * len(question.speeds_rpm)

        def say(done: int, _: int, before: int = before, path: Path = path) -> None:
            progress.step(f"running {path.name}", before + done, total)

        progress.step(first_words(path), before, total)
        curves.append(simulate_curve(spec, question.speeds_rpm, plan, say))
        if curves[-1].interrupted:
            break
    return tuple(curves)


def write_waves(path: Path, question: SimulateQuestion, goal: Path) -> RunPoint:
    """Write what happens in the pipes and cylinders over one cycle: an archive of arrays, or a picture.

    Parameters
    ----------
    path : Path
        An engine file.
    question : SimulateQuestion
        One speed.
    goal : Path
        .npz for all arrays; .png, .svg or .pdf for a map of the pressure in the pipes of the first cylinder.

    Returns
    -------
    RunPoint
        Numbers of the point.

    Raises
    ------
    InputError
        If the name ends in something else.
    SimulationError
        If the run went wrong.
    """
    kind = goal.suffix.lower().removeprefix(".")
    if kind not in {"npz", "png", "svg", "pdf"}:
        raise InputError(
            "waves cannot be written to such a file", where="--waves", value=goal.name,
            remedy="end the name in .npz (all arrays), .png, .svg or .pdf (a picture)",
        )  # fmt: skip
    name, point, settled = _run_waves(path, question)
    write_folder(goal.parent, [(goal.name, _waves(settled, name, kind))], replace=True)
    return point


def picture_waves(path: Path, question: SimulateQuestion) -> tuple[RunPoint, dict[str, bytes]]:
    """Maps of the pressure in the pipes of the first cylinder, for light paper and for dark.

    Parameters
    ----------
    path : Path
        An engine file.
    question : SimulateQuestion
        One speed.

    Returns
    -------
    point : RunPoint
        Numbers of the point.
    pictures : dict of str to bytes
        PNG files, by the name of their appearance.

    Raises
    ------
    SimulationError
        If the run went wrong.
    """
    from pullbook.publish.stills import APPEARANCES
    from pullbook.publish.wave_map import wave_map

    name, point, settled = _run_waves(path, question)
    drawn = [one for one in APPEARANCES if not one.transparent]
    return point, {one.name: wave_map(settled, name or "Engine", one) for one in drawn}


def _run_waves(path: Path, question: SimulateQuestion) -> tuple[str, RunPoint, Settled]:
    """Name of an engine, and one speed of it with all cells written down."""
    from pullbook.engine.layouts import build_network
    from pullbook.engine.simulate import CELL_SIZE, FINE_CELL_SIZE, RunPlan, simulate_speed

    spec = read_engine(path)
    plan = RunPlan(
        cell_size=FINE_CELL_SIZE if question.fine else CELL_SIZE, estimate_grid_error=False, threads=1,
        reflections=question.reflections,
    )  # fmt: skip
    network = build_network(spec, where=str(path))
    return spec.block.name, *simulate_speed(spec, network, question.speeds_rpm[0], plan, waves=True)


def _waves(settled: Settled, name: str, kind: str) -> bytes:
    if kind != "npz":
        from pullbook.publish.stills import APPEARANCES
        from pullbook.publish.wave_map import wave_map

        return wave_map(settled, name or "Engine", APPEARANCES[0], kind=kind)
    from pullbook.engine.waves import wave_arrays

    buffer = io.BytesIO()
    arrays: dict[str, Any] = dict(wave_arrays(settled))
    np.savez_compressed(buffer, **arrays)
    return buffer.getvalue()
