"""Tests that share what takes long to make, or a browser, run in one process where two run side by side."""

from __future__ import annotations

import pytest


@pytest.mark.xdist_group("of a test")
def test_a_group_is_known_to_what_divides_the_tests(request: pytest.FixtureRequest) -> None:
    if not request.config.getoption("loadgroup", default=False):
        pytest.skip("the tests are not divided by groups here")
    assert request.node.nodeid.endswith("@of a test")
