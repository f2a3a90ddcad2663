"""The demo session: an invented engine, an invented day, and the files that an invented bench wrote."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.bench.demo_engine import SETUPS, engine_file
from pullbook.bench.demo_plan import RUN_SHEET
from pullbook.bench.demo_sweep import make_channels, make_sweep
from pullbook.bench.demo_text import engine_file_name, pull_file_name, render_pull, render_second_logger, render_session
from pullbook.bench.noise import Scatter, draw_scatter

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["DEMO_SEED", "demo_session"]

DEMO_SEED: Final = 4  # an ordinary day: of seeds 0 to 5 one whose bands are of middling width


def demo_session(rng: np.random.Generator | None = None) -> Mapping[str, bytes]:
    """Session folder of the demo, as relative file names with their bytes.

    Parameters
    ----------
    rng : numpy.random.Generator, optional
        Source of the scatter; `DEMO_SEED` when not given, so that the demo is the same everywhere.

    Returns
    -------
    files : mapping of str to bytes
        ``session.toml``, the pulls, and the engine file of each build, which the virtual engine runs.

    Notes
    -----
    The true differences are those of the virtual engine (`pullbook.bench.demo_curves`); the scatter is that of
    `pullbook.bench.noise` with its default figures. One pull was made with cold oil and one has a glitch.

    Examples
    --------
    >>> files = demo_session()
    >>> list(files)[:3], len(files)
    (['session.toml', 'pulls/a1.csv', 'pulls/a2.csv'], 24)
    """
    rng = np.random.default_rng(DEMO_SEED) if rng is None else rng
    sweeps = [make_sweep(rng) for _ in RUN_SHEET]
    errors = draw_scatter(
        [sweep.speed_rpm for sweep in sweeps],
        [(planned.minutes - RUN_SHEET[0].minutes) / 60.0 for planned in RUN_SHEET],
        [planned.fitting for planned in RUN_SHEET],
        Scatter(),
        rng,
    )
    files = {"session.toml": render_session().encode()}
    for planned, sweep, error in zip(RUN_SHEET, sweeps, errors, strict=True):
        render = render_second_logger if planned.second_logger else render_pull
        files[pull_file_name(planned)] = render(planned, make_channels(planned, sweep, error, rng))
    for build in SETUPS:
        files[engine_file_name(build)] = engine_file(build).encode()
    return files
