"""Full-load curves of the demo's builds, as the virtual engine computed them.

The numbers stand in ``demo-curves.csv`` beside this file, because the demo must neither wait for the virtual engine nor
need a compiler. ``python3 tasks.py demo-curves`` computes them anew from `pullbook.bench.demo_engine`; a test runs
some of the points again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray

__all__ = ["COLUMNS", "TABLE", "FullLoad", "full_load", "full_load_torque", "read_table"]

TABLE: Final = "demo-curves.csv"
COLUMNS: Final = "build,speed_rpm,torque_nm,fuel_g_per_s,lambda"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FullLoad:
    """A build at full load, steady speed and the reference air of SAE J1349.

    Attributes
    ----------
    speed_rpm : (n,) array of float
        Engine speeds, evenly spaced and rising. [rpm]
    torque : (n,) array of float
        Brake torque. [N m]
    fuel_flow : (n,) array of float
        Fuel. [kg/s]
    mixture : (n,) array of float
        Relative air-fuel ratio. [1]
    """

    speed_rpm: FloatArray
    torque: FloatArray
    fuel_flow: FloatArray
    mixture: FloatArray

    def __post_init__(self) -> None:
        for name in self.__slots__:
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


def read_table(text: str) -> dict[str, FullLoad]:
    r"""Curves of a table.

    Parameters
    ----------
    text : str
        Remarks behind ``#``, the line `COLUMNS`, then a line for each speed of each build.

    Returns
    -------
    curves : dict of str to FullLoad
        Build and curve.

    Examples
    --------
    >>> rows = [f"A,{speed},200.0,3.5,0.88" for speed in (2000, 2100)]
    >>> read_table("\n".join(["# remark", COLUMNS, *rows]))["A"].fuel_flow.tolist()
    [0.0035, 0.0035]
    """
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith(("#", COLUMNS))]
    curves = {}
    for build in dict.fromkeys(row[0] for row in rows):
        speed, torque, fuel, mixture = np.array([row[1:] for row in rows if row[0] == build], dtype=np.float64).T
        curves[build] = FullLoad(speed_rpm=speed, torque=torque, fuel_flow=fuel / 1000.0, mixture=mixture)
    return curves


@cache
def _curves() -> Mapping[str, FullLoad]:
    return read_table(files("pullbook.bench").joinpath(TABLE).read_text(encoding="utf-8"))


def full_load(build: str, speed_rpm: FloatArray) -> FullLoad:
    """A build at any speeds, by cubics through the four nearest speeds of the table.

    Parameters
    ----------
    build : str
        Build of the demo.
    speed_rpm : (n,) array of float
        Engine speed; outside the table its first and last values hold. [rpm]

    Returns
    -------
    curve : FullLoad
        At these speeds.

    Notes
    -----
    Between two speeds of the table torque is within 0.1 % of what the virtual engine gives there; a test holds it.

    Examples
    --------
    >>> import numpy as np
    >>> full_load("A", np.array([2500.0, 5000.0])).mixture.round(2).tolist()
    [0.9, 0.88]
    """
    curve = _curves()[build]
    return FullLoad(
        speed_rpm=speed_rpm,
        torque=_between(curve.speed_rpm, curve.torque, speed_rpm),
        fuel_flow=_between(curve.speed_rpm, curve.fuel_flow, speed_rpm),
        mixture=_between(curve.speed_rpm, curve.mixture, speed_rpm),
    )


def full_load_torque(build: str, speed_rpm: FloatArray) -> FloatArray:
    """Torque of a build: the truth that the findings of the demo can be held to.

    Parameters
    ----------
    build : str
        Build of the demo.
    speed_rpm : (n,) array of float
        Engine speed. [rpm]

    Returns
    -------
    torque : (n,) array of float
        Brake torque at full load, steady speed and the reference air of SAE J1349. [N m]

    Examples
    --------
    >>> import numpy as np
    >>> bool(full_load_torque("A", np.array([5000.0]))[0] > full_load_torque("B", np.array([5000.0]))[0])
    True
    """
    return full_load(build, speed_rpm).torque


def _between(x: FloatArray, y: FloatArray, at: FloatArray) -> FloatArray:
    """Cubic of Lagrange through the two points on either side; `x` evenly spaced."""
    place = (np.clip(at, x[0], x[-1]) - x[0]) / (x[1] - x[0])
    first = np.clip(np.floor(place).astype(np.intp) - 1, 0, len(x) - 4)
    s = place - first  # 0 to 3
    weights = (
        -(s - 1.0) * (s - 2.0) * (s - 3.0) / 6.0,
        s * (s - 2.0) * (s - 3.0) / 2.0,
        -s * (s - 1.0) * (s - 3.0) / 2.0,
        s * (s - 1.0) * (s - 2.0) / 6.0,
    )
    return np.asarray(sum(weight * y[first + k] for k, weight in enumerate(weights)), dtype=np.float64)
