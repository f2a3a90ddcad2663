"""JointDraws from a known normal distribution, so that what is read off them has an exact answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from pullbook.curves.joint import JointDraws, VarianceDraws
from pullbook.records.build import Build
from pullbook.records.comparison import ComparablePull, Comparison
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray

GRID_RPM = np.arange(2000.0, 6001.0, 50.0)
DRAWS = 4000


def flat_reference(torque: float = 200.0) -> FloatArray:
    """The same torque at all speeds. [N m]"""
    return np.full(GRID_RPM.shape, torque)


def variance_draws(**changes: Any) -> VarianceDraws:
    """Scatter parameters without doubt: pull 0.4 %, shape 0.3 % of 400 rpm, no re-fitting, no drift."""
    fields: dict[str, float] = {
        "pull_sd": 0.4, "shape_sd": 0.3, "length_rpm": 400.0, "refit_sd": 0.0, "refit_shape_ratio": 0.0,
        "walk_sd": 0.0, "drift": 0.0,
    }  # fmt: skip
    fields.update(changes)
    return VarianceDraws(white_sd=0.5, **{name: np.full(DRAWS, value) for name, value in fields.items()})


def known_joint(
    percent: Mapping[str, FloatArray], deviations: FloatArray | None = None, *, sd: float = 0.5, **changes: Any
) -> JointDraws:
    """Builds with given curves in per cent of the reference.

    Without `deviations` of shape (draws, builds, speeds) each build has a level error of `sd`, the same at all speeds,
    that is normal without sampling error: its draws are the quantiles, in an order of its own.
    """
    centre = np.stack(list(percent.values()))
    if deviations is None:
        # A sum of two such errors is normal of sqrt(2) sd to the accuracy of 4,000 shuffled pairs.
        from scipy.stats import norm

        quantiles = norm.ppf((np.arange(DRAWS) + 0.5) / DRAWS) * sd
        generator = np.random.default_rng(5)
        levels = np.stack([generator.permutation(quantiles) for _ in percent], axis=1)
        deviations = np.broadcast_to(levels[:, :, None], (DRAWS, *centre.shape))
    fields: dict[str, Any] = {
        "grid_rpm": GRID_RPM, "reference": flat_reference(), "cells": tuple(percent), "centre": centre,
        "draws": centre + deviations, "variances": variance_draws(), "degrees_of_freedom": 4, "resolution_rpm": 430.0,
        "refit_assumed": False, "drift_assumed": False, "seed": 7,
    }  # fmt: skip
    return JointDraws(**{**fields, **changes})


def flat_comparison(order: str, **changes: Any) -> Comparison:
    """Pulls of 200 N m in the order of builds given, each build in a fitting of its own, six minutes apart."""
    names = sorted(set(order))
    pulls = tuple(
        ComparablePull(
            name=f"{build.lower()}{number}", build=build, fitting=names.index(build), time=360.0 * number,
            speed_rpm=np.linspace(1900.0, 6100.0, 85), torque=np.full(85, 200.0 + number % 3),
        )
        for number, build in enumerate(order)
    )  # fmt: skip
    fields: dict[str, Any] = {
        "pulls": pulls, "builds": tuple(Build(name=name, baseline=name == "A", levels={}) for name in names),
        "baseline": "A", "torque_kind": TorqueKind.MEASURED, "pairs": tuple((name, "A") for name in names[1:]),
        "draws": 400,
    }  # fmt: skip
    return Comparison(**{**fields, **changes})
