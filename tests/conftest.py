"""What every test may ask for: the folder of real measurements, and how long hypothesis may search."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

SHARED_DATA = Path(__file__).resolve().parents[1].parent / "shared" / "data"

_QUIET = (HealthCheck.too_slow, HealthCheck.function_scoped_fixture)  # a busy machine must not fail a test
settings.register_profile("dev", max_examples=30, deadline=None, suppress_health_check=_QUIET)
settings.register_profile("ci", max_examples=200, deadline=None, derandomize=True, suppress_health_check=_QUIET)
settings.load_profile("ci" if os.environ.get("CI") else "dev")


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of real measurements beside the repository; tests that need it are skipped where it is absent."""
    if not SHARED_DATA.is_dir():
        pytest.skip("the real measurements are not beside this repository (../shared/data)")
    return SHARED_DATA
