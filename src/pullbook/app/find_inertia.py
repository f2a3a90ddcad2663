"""Rotating inertia from the pulls of several files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.app.read_pulls import CapturedFile
from pullbook.correct.estimate_inertia import estimate_inertia

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.correct.estimate_inertia import InertiaEstimate
    from pullbook.errors import PullbookError

__all__ = ["inertia_of"]


def inertia_of(results: Sequence[tuple[str, CapturedFile | PullbookError]]) -> InertiaEstimate:
    """Inertia that makes all pulls of the files agree.

    Parameters
    ----------
    results : sequence of (str, CapturedFile or PullbookError)
        Captured files; those that were refused are passed over.

    Returns
    -------
    InertiaEstimate
        Inertia with its interval. [kg m^2]

    Raises
    ------
    RefusalError
        If the pulls cannot tell it.
    """
    return estimate_inertia([pull for _, file in results if isinstance(file, CapturedFile) for pull in file.pulls])
