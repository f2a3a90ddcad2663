"""The virtual engine against rules of the trade: in which direction a dimension moves the curve.

Sources of the rules: standards note 4.4 (later closing moves the peak up), 4.5 (Taylor's inlet Mach index), 5.2 and 5.5
(bigger primary: top up, bottom down; longer primary: peak down), 5.3 (shorter runner: peak up). Sizes stand side by
side in docs/methods/virtual-engine.md; ``python tests/handbook_study.py`` prints them.
"""

from __future__ import annotations

import numpy as np
import pytest
from handbook_study import RULES, Rule, torque

BOTTOM, TOP = (2750.0, 3000.0), (7000.0, 7500.0)
BY_NAME = {rule.name: rule for rule in RULES}


def gain(rule: Rule) -> tuple[float, float]:
    """Mean gain at the bottom and at the top of the range, high setting less low. [N m]"""
    change = torque(rule.high, BOTTOM + TOP) - torque(rule.low, BOTTOM + TOP)
    return float(np.mean(change[:2])), float(np.mean(change[2:]))


@pytest.mark.parametrize("name", ["runner", "primary length", "primary bore", "intake closes", "intake valves"])
def test_the_change_moves_the_gain_up_the_rev_range(name: str) -> None:
    bottom, top = gain(BY_NAME[name])
    assert top > 2.0
    assert top > bottom + 2.0


@pytest.mark.parametrize("name", ["primary length", "primary bore", "intake closes"])
def test_what_gains_at_the_top_costs_at_the_bottom(name: str) -> None:
    assert gain(BY_NAME[name])[0] < -1.5
