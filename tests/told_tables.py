"""Lines that tests tell, printed by whoever reports: what a test prints is lost where tests run side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pytest

__all__ = ["TOLD", "Tables"]

TOLD = "told"
"""Name of the property of a report that holds a line."""


@dataclass(frozen=True)
class Tables:
    """Prints what tests told, in the process that reports."""

    config: pytest.Config

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Print the lines of a test when it has ended, passed or failed."""
        reporter = self.config.pluginmanager.get_plugin("terminalreporter")
        lines = [str(value) for name, value in report.user_properties if name == TOLD]
        if reporter is not None and report.when == "call" and lines:
            reporter.write("\n" + "\n".join(lines) + "\n")
