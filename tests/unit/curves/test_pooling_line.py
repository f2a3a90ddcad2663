"""The line of a moderator held to certified values of a straight line; statistics note, section 10, B."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy
from scipy import stats

from pullbook.curves.pooling_moderator import moderated


@pytest.mark.parametrize("own", [0.05, 0.6])
def test_the_line_of_norris_has_its_certified_slope_and_doubt(own: float) -> None:
    # NIST StRD, linear regression, Norris: the certified values stand in the head of the file. Where all sessions have
    # the same doubt of their own, below the residual one, restricted likelihood puts the rest between the sessions.
    path = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not path.is_file():
        pytest.skip("this scipy comes without its test data")
    number = r"\s+(-?[\d.]+)"
    rows = re.findall(rf"^{number}{number}\s*$", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    y, x = np.array(rows, dtype=float).T
    assert y.size == 36
    line = moderated(y, np.full(36, own), x)
    assert line is not None
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.at(np.zeros(1))[0][0] == pytest.approx(-0.262323073774029, rel=1e-9)
    assert np.hypot(own, np.sqrt(line.between)) == pytest.approx(0.884796396144373, rel=1e-6)
    half = float(stats.t.ppf(0.975, 34)) * 0.000429796848199937
    assert (line.slope_high - line.slope_low) / 2.0 == pytest.approx(half, rel=1e-6)
    low, high = (float(one[0]) for one in line.at(np.zeros(1))[1:])
    assert (high - low) / 2.0 == pytest.approx(float(stats.t.ppf(0.975, 34)) * 0.232818234301152, rel=1e-6)
