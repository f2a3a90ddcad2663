"""Tables of the studies come out, however the tests are run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from told_tables import TOLD, Tables

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture
def tell(record_property: Callable[[str, object], None]) -> Callable[[str], None]:
    """Tell a line of a table of the documentation; it is printed when the test has ended."""
    return lambda line: record_property(TOLD, line)


def pytest_configure(config: pytest.Config) -> None:
    """Print what is told."""
    config.pluginmanager.register(Tables(config), "tables-of-studies")
