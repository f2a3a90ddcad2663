"""What an engine's declaration calls for saying that no single key shows: its lobes in motion, its friction."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.engine.friction_models import friction_remark
from pullbook.engine.layouts import lobe_of
from pullbook.engine.lobe_motion import lobe_motion

if TYPE_CHECKING:
    from pullbook.engine.parts import EngineSpec

__all__ = ["remarks_on"]


def remarks_on(spec: EngineSpec) -> tuple[str, ...]:
    """Remarks about an engine, each with the table it is about.

    Parameters
    ----------
    spec : EngineSpec
        The engine; its lobes can be made.

    Returns
    -------
    tuple of str
        None for a usual engine.

    Raises
    ------
    OutOfRangeError
        If a lobe cannot be made.

    Examples
    --------
    >>> from pullbook.engine.engine_file import parse_engine
    >>> remarks_on(parse_engine(""))
    ()
    >>> remarks_on(parse_engine('intake_cam = { valve_lift = "15 mm" }'))[0]
    'intake_cam: velocity 0.331 mm a cam degree is more than 0.22'
    """
    found: list[str] = []
    for side in (spec.intake_side, spec.exhaust_side):
        lobe = lobe_of(side.cam)
        found += [f"{side.side}_cam: {one} was assumed" for one in lobe.assumed]
        found += [f"{side.side}_cam: {one}" for one in lobe_motion(lobe).remarks]
    friction = friction_remark(spec.friction)
    return (*found, f"friction: {friction}") if friction else tuple(found)
