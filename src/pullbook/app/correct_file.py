"""correct: one file to reference conditions, with every value met on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pullbook.app.known_air import known_air
from pullbook.app.read_pulls import capture_file, only_pull
from pullbook.correct.apply import correct_pull
from pullbook.records.declaration import Standard

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.records.build import Engine
    from pullbook.records.corrected import CorrectedPull
    from pullbook.records.declaration import Air, ColumnRule

__all__ = ["Conditions", "correct_file"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What the user says about a file that stands alone.

    Attributes
    ----------
    air : Air
        Weather; channels of the file win.
    engine : Engine
        What the standard has to know of it.
    received : Standard
        What the file was already corrected to.
    inertia : float or None
        Rotating inertia. [kg m^2]
    which : int
        Which pull of the file, from 1; 0 for the only one.
    columns : tuple of ColumnRule
        Which column is which.
    """

    air: Air
    engine: Engine
    received: Standard = Standard.NONE
    inertia: float | None = None
    which: int = 0
    columns: tuple[ColumnRule, ...] = ()


def correct_file(path: Path, standard: Standard, conditions: Conditions) -> CorrectedPull:
    """Correct the pull of one file.

    Parameters
    ----------
    path : Path
        The file.
    standard : Standard
        What to correct to.
    conditions : Conditions
        Air, engine and columns.

    Returns
    -------
    corrected : CorrectedPull
        The pull at reference conditions, with its steps and flags.

    Raises
    ------
    InputError
        If the file holds no pull, or the standard cannot be applied to it.
    """
    captured = capture_file(path, path.name, conditions.columns)
    pull = only_pull(captured, conditions.which, "--which")
    air, said = known_air(conditions.air, pull)
    corrected = correct_pull(
        pull,
        air=air,
        engine=conditions.engine,
        standard=standard,
        received=conditions.received,
        inertia=conditions.inertia,
    )
    return replace(corrected, flags=(*said, *corrected.flags))
