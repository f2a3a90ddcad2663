"""Silencers as parts of a network: perforated tube with wool around it, plain chamber, reversed flow."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.engine.layout_walls import area, wall_of
from pullbook.engine.network_ends import JoinEnd, Side
from pullbook.engine.network_pipes import Volume
from pullbook.engine.parts_pipes import Tube

if TYPE_CHECKING:
    from pullbook.engine.parts import EngineSpec
    from pullbook.engine.parts_pipes import Silencer
    from pullbook.engine.plumbing import Plumbing, Run

__all__ = ["WOOL_FREE", "lay_free_silencer", "lay_silencer", "wool_resistance"]

_SIDE: Final = Side.EXHAUST
_SLICE: Final = 0.05  # m; longest slice of a perforated tube with one volume around it
WOOL_FREE: Final = 0.95  # share of packed wool that is gas
_AWAY: Final = 180.0
_TURN: Final = 90.0  # deg; a jet that has to turn back loses its dynamic pressure
_TURN_LOSS: Final = 1.0


def wool_resistance(resistivity: float, tube: float, shell: float) -> float:
    r"""Flow resistance of wool around a tube, from the tube to the middle of the wool's volume. [Pa s/m].

    Flow through the wool thins out with the radius, so

    .. math:: R = \sigma\, r_1 \ln\frac{r_m}{r_1}, \qquad r_m^2 = \tfrac12 (r_1^2 + r_2^2)

    referred to the velocity through the surface of the tube.

    Parameters
    ----------
    resistivity : float
        Flow resistivity of the wool. [Pa s/m2]
    tube, shell : float
        Diameter of the tube and of the shell. [m]

    Returns
    -------
    float
        Pressure by velocity. [Pa s/m]

    Notes
    -----
    The wool is one volume here; from about 1 kHz on, where its depth is a quarter of a wavelength, that is too simple.

    Examples
    --------
    >>> round(wool_resistance(10e3, 0.050, 0.120))
    152
    """
    inner, outer = tube / 2.0, shell / 2.0
    return resistivity * inner * 0.5 * math.log(0.5 * (1.0 + (outer / inner) ** 2))


def lay_silencer(spec: EngineSpec, plumbing: Plumbing, run: Run, silencer: Silencer, name: str) -> Run:
    """Lay a silencer at the end of a run; the run that goes on."""
    lay = {"straight-through": _straight, "chamber": _chamber, "reversed": _reversed}[silencer.kind]
    return lay(spec, plumbing, run, silencer, name)


def lay_free_silencer(spec: EngineSpec, plumbing: Plumbing, silencer: Silencer, name: str) -> tuple[int, int]:
    """Lay a silencer between two joins of two pipes; the joins at its inlet and its outlet."""
    joins = plumbing.join(f"inlet of {name}", "mixing"), plumbing.join(f"outlet of {name}", "mixing")
    run = plumbing.run(name, _SIDE, JoinEnd(join=joins[0], angle_deg=_AWAY))
    run = lay_silencer(spec, plumbing, run, silencer, name)
    plumbing.end(run, JoinEnd(join=joins[1], angle_deg=0.0))
    return joins


def _straight(spec: EngineSpec, plumbing: Plumbing, run: Run, silencer: Silencer, name: str) -> Run:
    """Perforated tube; the room around it is cut into slices, since the wool lets little flow along it."""
    wall = wall_of(spec.walls, _SIDE, "silencer")
    run = plumbing.lay(run, "silencer", silencer.tube, wall)
    start = run.length - silencer.tube.length
    count = math.ceil(silencer.tube.length / _SLICE - 1e-9)
    step = silencer.tube.length / count
    diameter = silencer.tube.diameter
    free = WOOL_FREE if silencer.packed else 1.0
    content = (area(silencer.shell) - area(diameter)) * step * free
    resistance = wool_resistance(silencer.resistivity, diameter, silencer.shell) if silencer.packed else 0.0
    holes = math.pi * diameter * step * silencer.porosity
    for number in range(count):
        label = f"{name}, slice {number + 1}"
        volume = plumbing.volume(Volume(name=label, side=_SIDE, volume=content, wall=wall, isothermal=silencer.packed))
        ends = (start + number * step, start + (number + 1) * step)
        run.perforate(label, ends, volume, (holes, resistance))
    return run


def _chamber(spec: EngineSpec, plumbing: Plumbing, run: Run, silencer: Silencer, name: str) -> Run:
    """Plain expansion chamber: a wide pipe between two steps, so that waves run along it."""
    wall = wall_of(spec.walls, _SIDE, "silencer")
    # In a free network the join at its inlet is the step already.
    wide = plumbing.step(run, f"chamber of {name}") if run.sections else run
    shell = Tube(length=silencer.tube.length, diameter=silencer.shell, end_diameter=silencer.shell)
    wide = plumbing.lay(wide, "silencer", shell, wall)
    out = plumbing.step(wide, f"behind {name}")
    return plumbing.lay(out, "silencer", _stub(silencer), wall)


def _reversed(spec: EngineSpec, plumbing: Plumbing, run: Run, silencer: Silencer, name: str) -> Run:
    """Reversed flow: through a tube to the far end of the shell, back around it, out through another tube."""
    wall = wall_of(spec.walls, _SIDE, "silencer")
    run = plumbing.lay(run, "silencer", silencer.tube, wall)
    room = plumbing.step(run, f"way back in {name}", _TURN)
    around = math.sqrt(silencer.shell**2 - 2.0 * silencer.tube.diameter**2)
    back = Tube(length=silencer.tube.length, diameter=around, end_diameter=around, bend_loss=_TURN_LOSS)
    room = plumbing.lay(room, "silencer", back, wall)
    out = plumbing.step(room, f"behind {name}", _TURN)
    return plumbing.lay(out, "silencer", silencer.tube, wall)


def _stub(silencer: Silencer) -> Tube:
    """Short outlet of a chamber, so that what follows begins with the diameter of the tube."""
    length = 0.5 * silencer.tube.diameter
    return Tube(length=length, diameter=silencer.tube.diameter, end_diameter=silencer.tube.diameter)
